"""The rows of a page are those of the whole table, and no other row is worked out for them."""

import random

from plantings.calc.survival import rows_by_label
from plantings.calc.survival.rows_by_label import RowsByLabel
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import CHECK, DONOR, NATIVE, in_order, row_of_group, survival_table_rows
from plantings.calc.survival.tallies import Tally


def some_tallies():
    chance = random.Random(4)
    for number in range(120):
        site, standard = f"S{number % 9}", chance.choice(("", "", NATIVE, DONOR))
        alive, dead = chance.randint(0, 40), chance.randint(0, 20)
        keys = (site, chance.choice("abCD"))
        counts = Counts(planted=alive + dead, alive=alive, dead=dead)
        yield Tally(
            keys, CHECK if standard else "test", site, f"P{number}", f"L{number % 4}", standard, chance.random() < 0.2, True, counts
        )


def test_rows_are_those_of_the_table_and_a_page_works_out_its_own(monkeypatch):
    tallies, worked_out = list(some_tallies()), []

    def noted(*kind):
        worked_out.append(kind[:4])
        return row_of_group(*kind)

    monkeypatch.setattr(rows_by_label, "row_of_group", noted)
    rows = RowsByLabel(tallies, ("test", "check"))
    expected = in_order(survival_table_rows(tallies))
    assert len(rows) == len(expected) > 60 and worked_out == []
    assert rows[20:30] == tuple(expected[20:30])
    assert len(worked_out) == 10
    assert rows == expected and len(worked_out) == len(expected)
    assert list(RowsByLabel(tallies, ("check",))) == [row for row in expected if row.is_check]
