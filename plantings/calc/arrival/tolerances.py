"""How far apart two people may be who measured the same tree, and how often. The programme sets these tolerances; here are the defaults.

Source
------
Common practice, no source; a definition of this programme. Blind checks against a written tolerance and a share of the time it must be
met follow the practice of national forest inventories.
"""

from dataclasses import dataclass, fields

__all__ = ["TOLERANCES", "TOLERANCE_NAMES", "Tolerances"]


@dataclass(frozen=True, slots=True)
class Tolerances:
    """The tolerances, each a setting of the programme under the same name.

    status_percent : share of the trees that must have the same status in both records
    height_cm, height_percent : how far two heights may be apart; the larger of both holds
    height_share_percent : share of the trees whose heights must be within it
    diameter_mm : how far two diameters may be apart
    diameter_share_percent : share of the trees whose diameters must be within it
    estimate_points : how far two estimates of a share may be apart, in percentage points
    own_units, own_percent : how far two values of a number that the programme defined may be apart; the larger of both holds
    number_share_percent : share of the trees whose estimates, or numbers of the programme, must be within it
    presence_percent : share of the trees on which both must have found something, or nothing
    class_percent : share of the trees whose classes must be the same or next to each other
    """

    status_percent: float = 98
    height_cm: float = 5
    height_percent: float = 5
    height_share_percent: float = 90
    diameter_mm: float = 1
    diameter_share_percent: float = 90
    estimate_points: float = 10
    own_units: float = 1
    own_percent: float = 10
    number_share_percent: float = 90
    presence_percent: float = 85
    class_percent: float = 90


TOLERANCES = Tolerances()
TOLERANCE_NAMES = tuple(item.name for item in fields(Tolerances))
