"""The part of a heat table that is shown. Definitions of this programme."""

from plantings.calc.survival.heat import heat_window
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally


def tally(site, lot, role="test", standard="", sown=False):
    return Tally((site, lot), role, site, f"{site}-1", lot, standard, sown, True, [0] * 15)


TALLIES = [tally(f"S{site:03}", f"L{lot:02}") for site in reversed(range(130)) for lot in range(14)]
TALLIES += [tally(f"S{site:03}", "N", "check", NATIVE) for site in range(130)] + [tally("S000", "L00", sown=True)]


def test_each_cell_is_on_one_page_of_at_most_sixty_by_twelve():
    pages = [heat_window(TALLIES, row, column) for row in (1, 2, 3) for column in (1, 2)]
    assert {(page.row_count, page.column_count) for page in pages} == {(130, 16)}
    assert [(len(page.rows), len(page.columns)) for page in pages] == [(60, 12), (60, 4), (60, 12), (60, 4), (10, 12), (10, 4)]
    assert sorted(one for page in pages for one in page.tallies) == sorted(TALLIES)


def test_lineages_come_first_then_checks_then_sown_seed():
    last = heat_window(TALLIES, 1, 2).columns
    assert [(column.keys, column.role_words) for column in last[-2:]] == [(("N",), "native check"), (("L00",), "under test, sown as seed")]


def test_a_page_beyond_the_last_is_the_last():
    assert heat_window(TALLIES, 99, 99) == heat_window(TALLIES, 3, 2) and heat_window(TALLIES, 0, -1) == heat_window(TALLIES, 1, 1)
    assert heat_window([], 1, 1)[1:] == ((), (), 0, 0, 0, 0)
