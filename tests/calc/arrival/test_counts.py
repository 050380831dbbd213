"""The count of a plot beside what was put there and what was counted last time. Common practice, no source: each case is a rule in words."""

from datetime import date

import pytest

from plantings.calc.arrival.arrival import Window
from plantings.calc.arrival.counts import CountSeen, count_looks
from plantings.calc.census.limits import CheckLimits

WINDOW = Window(opens_on=date(2026, 9, 1), closes_on=date(2026, 9, 30))
DAY, LAST_DAY = date(2026, 9, 10), date(2025, 9, 10)


def said(alive, dead, last, *, sown, note="", on=DAY, **limits):
    """What is said of a count of a plot of 40, of which `last` (alive, dead) were there the year before."""
    before = last and CountSeen(*last, LAST_DAY)
    return [look.message for look in count_looks(CountSeen(alive, dead, on, note), before, 40, sown, WINDOW, CheckLimits(**limits))]


@pytest.mark.parametrize(
    ("alive", "dead", "last", "sown", "words"),
    [
        (31, 0, None, True, []),  # nine of forty seeds did not come up, which nobody has to explain
        (31, 0, None, False, ["31 alive and 0 dead of 40 planted: 9 are missing. Count again, or say in the note what became of them."]),
        (31, 9, None, False, []),
        (22, 0, (20, 0), True, ["More alive than before: 22 after 20. Say why in the note, such as seed that came up late."]),
        (20, 0, (20, 0), True, []),
        (38, 0, (20, 0), True, ["38 are alive, last time 20: a leap of more than 50 %. Check the plot and count again."]),
        (9, 0, (20, 0), True, ["9 are alive, last time 20: a leap of more than 50 %. Check the plot and count again."]),
        (0, 0, (4, 0), True, []),  # four seedlings may be gone
        (18, 10, (20, 0), True, ["28 alive and dead, last time 20: more than had come up. Count again, or say why in the note."]),
        (28, 6, (30, 4), False, []),  # the same six are missing as the year before
        (
            26,
            4,
            (30, 4),
            False,
            ["26 alive and 4 dead of 40 planted: 10 are missing. Count again, or say in the note what became of them."],
        ),
    ],
)
def test_what_a_count_is_asked_about(alive, dead, last, sown, words):
    assert said(alive, dead, last, sown=sown) == words


def test_a_note_explains_all_but_a_leap():
    assert said(22, 0, (20, 0), sown=True, note="late seed") == said(31, 0, None, sown=False, note="dug out by a boar") == []
    assert len(said(38, 0, (20, 0), sown=True, note="late seed")) == 1


def test_the_limits_are_those_of_the_programme():
    assert said(38, 0, (20, 0), sown=True, note="late seed", count_leap_percent=95) == []
    assert "35 days after the round closes" in said(20, 0, (20, 0), sown=True, on=date(2026, 11, 4))[0]
    assert said(20, 0, (20, 0), sown=True, on=date(2026, 11, 4), window_days=40) == []
