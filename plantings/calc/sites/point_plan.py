"""Where measured points lie on a plan to scale: north is up."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

from plantings.calc.sites.geometry import geodesic_distance_m

_WIDTH, _HEIGHT, _EDGE, _FOOT = 320.0, 420.0, 10.0, 26.0  # the most a plan takes; around the points; below them for the scale
_LEAST_M = 5.0  # points nearer to each other than that are drawn near each other
_STEP_DEGREES = 0.01


@dataclass(frozen=True, slots=True)
class PointPlan:
    """(x, y) of the points as given, the length of the scale in the plan and in metres, and the size of it all."""

    points: tuple[tuple[float, float], ...]
    scale: float
    scale_m: float
    width: float
    height: float


def point_plan(points: Sequence[tuple[float, float]]) -> PointPlan:
    """The plan of points of one planting.

    Parameters
    ----------
    points : sequence of (longitude, latitude)
        WGS 84, at least one. They may lie on both sides of 180 degrees.

    Returns
    -------
    PointPlan
        Over a planting the earth is flat: metres for a degree are those of its middle. The scale is 1, 2 or 5 times a power of ten metres
        and at most a third as wide as the plan can be.

    Source
    ------
    Metres for a degree: geodesic on WGS 84 (`geometry.py`). The rest is the definition of this programme.

    Examples
    --------
    >>> plan = point_plan([(-73.2, 44.5), (-73.199, 44.5)])
    >>> plan.points, plan.scale_m
    (((10.0, 10.0), (310.0, 10.0)), 20.0)
    """
    first = points[0][0]
    easts = [(longitude - first + 540) % 360 - 180 for longitude, _latitude in points]
    norths = [latitude for _longitude, latitude in points]
    middle = (min(norths) + max(norths)) / 2
    step = _STEP_DEGREES / 2
    east_m = geodesic_distance_m(-step, middle, step, middle) / _STEP_DEGREES
    north_m = geodesic_distance_m(0, max(middle - step, -90), 0, min(middle + step, 90)) / _STEP_DEGREES
    across, down = (max(easts) - min(easts)) * east_m, (max(norths) - min(norths)) * north_m
    per_m = min((_WIDTH - 2 * _EDGE) / max(across, _LEAST_M), (_HEIGHT - 2 * _EDGE) / max(down, _LEAST_M))
    placed = tuple(
        (round(_EDGE + (east - min(easts)) * east_m * per_m, 2), round(_EDGE + (max(norths) - north) * north_m * per_m, 2))
        for east, north in zip(easts, norths, strict=True)
    )
    scale_m = _round_length((_WIDTH - 2 * _EDGE) / 3 / per_m)
    return PointPlan(placed, round(scale_m * per_m, 2), scale_m, _WIDTH, round(down * per_m + 2 * _EDGE + _FOOT, 2))


def _round_length(most: float) -> float:
    """The longest of 1, 2 and 5 times a power of ten that is not longer."""
    power = 10.0 ** floor(log10(most))
    return next(times * power for times in (5, 2, 1) if times * power <= most)
