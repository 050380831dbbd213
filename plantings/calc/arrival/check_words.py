"""The checks on arrival in words, with the limits that hold, for the help page."""

from plantings.calc.arrival.growth import FEWEST_TREES
from plantings.calc.arrival.habits import FEWEST_READINGS
from plantings.calc.census.limits import LIMITS, CheckLimits
from registry.calc.shared.worded import worded


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
        (
            worded("Outside the window"),
            worded("Seen more than %(days)s days before the round opens or after it closes.", days=f"{limits.window_days:g}"),
        ),
        (worded("Nothing measured"), worded("A living tree with a height or diameter of 0.")),
        (
            worded("Lower or thinner"),
            worded(
                "Height down by more than %(cm)s cm and more than %(percent)s %% without browse, dieback or resprout; diameter down by "
                "more than %(mm)s mm without resprout.",
                cm=f"{limits.height_loss_cm:g}",
                percent=f"{limits.height_loss_percent:g}",
                mm=f"{limits.diameter_loss_mm:g}",
            ),
        ),
        (
            worded("Leap"),
            worded(
                "Height up by more than %(cm)s cm in a year, or more than %(times)s times what the median tree of the planting grew, where "
                "at least %(trees)s trees have two readings; diameter up by more than %(mm)s mm in a year.",
                mm=f"{limits.diameter_gain_mm:g}",
                cm=f"{limits.height_gain_cm:g}",
                times=f"{limits.height_gain_times:g}",
                trees=FEWEST_TREES,
            ),
        ),
        (
            worded("Unit slip"),
            worded(
                "A reading within %(percent)s %% of 2.54, 3.28, 10 or 30.48 times the last one, or of the last one divided by that. Where "
                "at least %(trees)s trees have two readings, also one that is far from what the planting grew, and would fit in another "
                "unit.",
                percent=f"{limits.unit_slip_percent:g}",
                trees=FEWEST_TREES,
            ),
        ),
        (
            worded("Measurements of the programme's own"),
            worded(
                "A number whose definition says that it only grows: less than the last reading by more than the definition says, grown by "
                "more than it says or by %(times)s times the median tree, a slip of the unit of a length, or ten times any other number. "
                "Of whole numbers over a wide range also the last digits of an observer. Only readings of one version are compared.",
                times=f"{limits.height_gain_times:g}",
            ),
        ),
        (worded("Dead with growth"), worded("Recorded dead, with a reading above the last one.")),
        (worded("Alive again"), worded("Alive, and recorded dead or removed the last time.")),
        (
            worded("Records that fit other trees"),
            worded(
                "Two neighbours, a row from its other end, or part of the walk one place on or back, where the records fit the last values "
                "better by %(spreads)s standard deviations of growth. Only suggested.",
                spreads=f"{limits.exchange_spreads:g}",
            ),
        ),
        (
            worded("Habits of an observer"),
            worded(
                "More than %(digits)s %% of the heights under 3 m end in 0 or 5; %(run)s trees in a row have the same reading; more than "
                "%(same)s %% of the trees grew by exactly the same; the middle reading has lost a fifth of the last one, or is five times "
                "it, and would fit in another unit. From %(readings)s readings on.",
                digits=f"{limits.end_digit_percent:g}",
                run=f"{limits.same_run:g}",
                same=f"{limits.same_percent:g}",
                readings=FEWEST_READINGS,
            ),
        ),
        (
            worded("Tag and place"),
            worded("In a sheet with block, row and position: a tag that the register has elsewhere, at two places, or not at all."),
        ),
        (
            worded("Counts of plots"),
            worded(
                "Living trees changed by more than %(percent)s %% since last time; more living than last time without a note; of plants "
                "set out, some neither alive nor dead; of sown seed, more alive and dead than had come up.",
                percent=f"{limits.count_leap_percent:g}",
            ),
        ),
        (worded("Two records that disagree"), worded("Two people recorded different things of one tree in one round.")),
    )
