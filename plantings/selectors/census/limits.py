"""The programme's own limits of the checks on arrival."""

from plantings.calc.census.limits import LIMIT_NAMES, CheckLimits
from registry.choices import ProgrammeKey
from registry.selectors.people.programme import settings_of

__all__ = ["check_limits"]

_KEYS = {name: ProgrammeKey(f"check_{name}") for name in LIMIT_NAMES}


def check_limits():
    """The CheckLimits that hold now: the programme's settings, else the defaults. One query."""
    values = settings_of(_KEYS.values())
    return CheckLimits(**{name: float(values[key]) for name, key in _KEYS.items()})
