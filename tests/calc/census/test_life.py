"""The life of a tree as a picture. A form of our own; each place is worked out by hand."""

from datetime import date

import pytest

from plantings.calc.census.life import Sight, draw_life, nice_top

PLANTED = date(2020, 4, 15)


def sight(year, fate="alive", cm=None, **more):
    return Sight(date(year, 9, 1), str(year), fate, cm, **more)


def test_a_line_joins_three_heights_and_a_new_shoot_begins_another():
    drawn = draw_life(
        PLANTED,
        [
            sight(2020, cm=40),
            sight(2021, cm=80),
            sight(2022, "not_found"),
            sight(2023, "resprout", 20, is_resprout=True),
            sight(2024, "resprout", 60, is_resprout=True),
            sight(2025, "resprout", 90, is_resprout=True),
        ],
    )
    # the first top has two heights, too few for a line; the new shoot has three
    assert [len(line) for line in drawn.lines] == [2]
    # 96 px for 0 to 100 cm, above y = 132
    assert [(y, cm) for _x, y, cm, _label in drawn.dots] == [(93.6, 40), (55.2, 80), (112.8, 20), (74.4, 60), (45.6, 90)]
    assert drawn.levels == ((132.0, 0), (84.0, 50), (36.0, 100))


def test_two_heights_are_two_dots_without_a_line():
    drawn = draw_life(PLANTED, [sight(2020, cm=40), sight(2021, cm=80)])
    assert drawn.lines == () and len(drawn.dots) == 2
    three = draw_life(PLANTED, [sight(2020, cm=40), sight(2021, cm=60), sight(2022, cm=80)])
    assert [len(line) for line in three.lines] == [2]


def test_years_run_from_planting_to_the_last_round():
    drawn = draw_life(PLANTED, [sight(2022), sight(2024)])
    assert [label for _x, label in drawn.years] == ["2020", "2021", "2022", "2023", "2024", "2025"]
    # a fifth of the width is a year; before 1 Sep 243 days of 2022 have gone, 244 of 2024
    placed = [20 * (2 + 243 / 365.25), 20 * (4 + 244 / 365.25)]
    assert [x for x, _fate, _label in drawn.glyphs] == pytest.approx(placed, abs=0.01)
    assert drawn.width == "100%" and not drawn.lines and not drawn.levels


def test_rounds_of_one_month_do_not_cover_each_other():
    drawn = draw_life(PLANTED, [Sight(date(2020, 9, day), "", "alive") for day in (1, 8, 15)])
    placed = [x for x, _fate, _label in drawn.glyphs]
    # 18 of the 212 px that the years have on the narrowest phone
    assert [following - before for before, following in zip(placed, placed[1:], strict=False)] == pytest.approx(
        [100 * 18 / 212] * 2, abs=0.01
    )


def test_thirty_years_have_room_for_their_labels():
    drawn = draw_life(date(1990, 4, 1), [sight(year) for year in range(1990, 2020)])
    assert drawn.width == "540"  # 18 px a year; the box scrolls
    labelled = [round(540 * x / 100) for x, label in drawn.years if label]
    assert len(labelled) == 16 and min(following - before for before, following in zip(labelled, labelled[1:], strict=False)) >= 36


def test_a_height_of_nothing_draws_no_line_and_a_life_has_a_round():
    assert draw_life(PLANTED, [sight(2020, cm=0)]).lines == ()
    with pytest.raises(ValueError, match="without a round"):
        draw_life(PLANTED, [])


@pytest.mark.parametrize(("value", "top"), [(1, 1), (1.01, 2), (99, 100), (501, 1000), (0.04, 0.05)])
def test_the_scale_ends_at_a_round_number(value, top):
    assert nice_top(value) == pytest.approx(top)
    with pytest.raises(ValueError):
        nice_top(-value)
