"""The limits of the checks on arrival: what is odd enough to be looked at again. The programme sets them; these are the defaults.

Source
------
Common practice of permanent plots, no source, unless a limit says one; the values are a definition of this programme.
"""

from dataclasses import dataclass, fields, replace
from functools import cache

from plantings.calc.census.measurements import DIAMETER, HEIGHT, Growth, Measurement


@dataclass(frozen=True, slots=True)
class CheckLimits:
    """The limits of all checks, each a setting of the programme under the same name.

    height_loss_cm, height_loss_percent : how much lower a tree may be than last time; more than both is odd
    height_gain_cm : how much a tree may grow in a year
    height_gain_times : how many times the median growth of the planting's trees in a year
    diameter_loss_mm : how much thinner a stem may be than last time
    diameter_gain_mm : how much thicker a stem may grow in a year
    unit_slip_percent : how near the ratio of two readings must be to that of two units
    window_days : how many days outside the window of its round a visit may be
    end_digit_percent : share of an observer's readings that may end in 0 or 5; a fifth does by chance
    same_percent : share of an observer's trees that may have grown by exactly the same
    same_run : how many trees in a row may have the same reading
    count_leap_percent : by how much the living trees of a counted plot may change since last time
    exchange_spreads : by how many standard deviations records must fit better at other trees before an exchange is suggested
    """

    height_loss_cm: float = HEIGHT.growth.loss
    height_loss_percent: float = 100 * HEIGHT.growth.loss_share
    height_gain_cm: float = HEIGHT.growth.gain_a_year
    height_gain_times: float = 3
    diameter_loss_mm: float = DIAMETER.growth.loss
    diameter_gain_mm: float = DIAMETER.growth.gain_a_year
    unit_slip_percent: float = 5
    window_days: int = 21
    end_digit_percent: float = 50
    same_percent: float = 50
    same_run: int = 6
    exchange_spreads: float = 4
    count_leap_percent: float = 50

    def growth_of(self, item: Measurement) -> Growth:
        """What looks odd in a measurement: as declared with it, with the programme's own limits where there are any."""
        if item is HEIGHT:
            return _height_growth(self.height_loss_cm, self.height_loss_percent, self.height_gain_cm)
        return _diameter_growth(self.diameter_loss_mm, self.diameter_gain_mm) if item is DIAMETER else item.growth


@cache  # every row of a census asks
def _height_growth(loss, loss_percent, gain_a_year):
    return replace(HEIGHT.growth, loss=loss, loss_share=loss_percent / 100, gain_a_year=gain_a_year)


@cache
def _diameter_growth(loss, gain_a_year):
    return replace(DIAMETER.growth, loss=loss, gain_a_year=gain_a_year)


LIMITS = CheckLimits()
LIMIT_NAMES = tuple(item.name for item in fields(CheckLimits))
