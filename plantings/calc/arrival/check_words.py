"""The checks on arrival in words, with the limits that hold, for the help page."""

from plantings.calc.arrival.growth import FEWEST_TREES
from plantings.calc.arrival.habits import FEWEST_READINGS
from plantings.calc.census.limits import LIMITS, CheckLimits


def check_words(limits: CheckLimits = LIMITS) -> tuple[tuple[str, str], ...]:
    """(check, what makes a record odd) of every check on arrival.

    Parameters
    ----------
    limits : CheckLimits

    Source
    ------
    A wording of the checks: `check_row`, `compare_with_last`, `leap_findings`, `exchanges`, `reading_habits`, `tag_findings`.

    Examples
    --------
    >>> dict(check_words())["Outside the window"]
    'Seen more than 21 days before the round opens or after it closes.'
    """
    return (
        ("Outside the window", f"Seen more than {limits.window_days:g} days before the round opens or after it closes."),
        (
            "Lower or thinner",
            f"Height down by more than {limits.height_loss_cm:g} cm and more than {limits.height_loss_percent:g} % without browse, "
            f"dieback or resprout; diameter down by more than {limits.diameter_loss_mm:g} mm without resprout.",
        ),
        ("Nothing measured", "A living tree with a height or diameter of 0."),
        (
            "Leap",
            f"Height up by more than {limits.height_gain_cm:g} cm in a year, or more than {limits.height_gain_times:g} times what the "
            f"median tree of the planting grew, where at least {FEWEST_TREES} trees have two readings.",
        ),
        (
            "Unit slip",
            f"A reading within {limits.unit_slip_percent:g} % of 2.54, 3.28, 10 or 30.48 times the last one, or of the last one divided "
            "by that.",
        ),
        ("Dead with growth", "Recorded dead, with a reading above the last one."),
        ("Alive again", "Alive, and recorded dead or removed the last time."),
        (
            "Records that fit other trees",
            "Two neighbours, a row from its other end, or part of a row one place on, where the records fit the last values better by "
            f"{limits.exchange_spreads:g} standard deviations of growth. Only suggested.",
        ),
        (
            "Habits of an observer",
            f"More than {limits.end_digit_percent:g} % of the heights under 3 m end in 0 or 5; {limits.same_run:g} trees in a row have the "
            f"same reading; more than {limits.same_percent:g} % of the trees grew by exactly the same. From {FEWEST_READINGS} readings on.",
        ),
        (
            "Tag and place",
            "In a sheet with block, row and position: a tag that the register has elsewhere, at two places, or not at all.",
        ),
        ("Two records that disagree", "Two people recorded different things of one tree in one round."),
    )
