"""The programme's own limits of the checks on arrival, and its tolerances for a second measurement."""

from plantings.calc.arrival.tolerances import TOLERANCE_NAMES, Tolerances
from plantings.calc.census.limits import LIMIT_NAMES, CheckLimits
from registry.choices import ProgrammeKey
from registry.selectors.people.programme import settings_of

__all__ = ["check_limits", "tolerances"]

_KEYS = {name: ProgrammeKey(f"check_{name}") for name in LIMIT_NAMES}
_TOLERANCE_KEYS = {name: ProgrammeKey(f"second_{name}") for name in TOLERANCE_NAMES}


def check_limits():
    """The CheckLimits that hold now: the programme's settings, else the defaults. One query."""
    return CheckLimits(**_numbers(_KEYS))


def tolerances():
    """The Tolerances that hold now, in the same way. One query."""
    return Tolerances(**_numbers(_TOLERANCE_KEYS))


def _numbers(keys):
    values = settings_of(keys.values())
    return {name: float(values[key]) for name, key in keys.items()}
