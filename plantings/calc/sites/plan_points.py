"""Where each position of a planting lies on a plan: rows and positions as in the field, its blocks beside each other."""

from collections.abc import Sequence
from dataclasses import dataclass

CELL = 12.0  # between two positions
_EDGE, _HEAD, _GAP = 8.0, 12.0, 14.0  # around a block; above it for its name; between two blocks
_WIDTH = 320.0  # blocks go on below where they would be wider together


@dataclass(frozen=True, slots=True)
class PlanPoints:
    """Points of the places as given, (x, y) each, those of each block in walk order, the names of blocks as (x, y, name), and the size
    of it all."""

    points: tuple[tuple[float, float], ...]
    walks: tuple[tuple[tuple[float, float], ...], ...]
    names: tuple[tuple[float, float, str], ...]
    width: float
    height: float


def plan_points(places: Sequence[tuple[str, int, int]]) -> PlanPoints:
    """The plan of places.

    Parameters
    ----------
    places : sequence of (block code or "", row, position)
        In walk order: blocks come in the order in which they are walked.

    Returns
    -------
    PlanPoints
        Rows run downwards and positions to the right; a block that is higher than wide by far is turned, so that it fits a phone.

    Source
    ------
    Definition of this programme; a plan is not to scale.

    Examples
    --------
    >>> plan_points([("1", 1, 1), ("1", 1, 2), ("2", 4, 7)]).points
    ((8.0, 20.0), (20.0, 20.0), (50.0, 20.0))
    """
    blocks: dict[str, list[tuple[int, int]]] = {}
    for block, row, position in places:
        blocks.setdefault(block, []).append((row, position))
    head = _HEAD if any(blocks) else 0.0
    corners, names = {}, []
    left = top = below = width = 0.0
    for block, found in blocks.items():
        rows, positions = zip(*found, strict=True)
        turned = max(rows) - min(rows) > 40 and max(rows) - min(rows) > 2 * (max(positions) - min(positions))
        down, across = (positions, rows) if turned else (rows, positions)
        wide, high = (max(across) - min(across)) * CELL + 2 * _EDGE, (max(down) - min(down)) * CELL + 2 * _EDGE + head
        if left and left + wide > _WIDTH:
            left, top = 0.0, below
        corners[block] = (left + _EDGE, top + head + _EDGE, min(rows), min(positions), turned)
        if block:
            names.append((left + _EDGE / 2, top + 12, block))
        width, below = max(width, left + wide), max(below, top + high)
        left += wide + _GAP
    points, walks = [], {}
    for block, row, position in places:
        x, y, first_row, first_position, turned = corners[block]
        steps = (row - first_row, position - first_position) if turned else (position - first_position, row - first_row)
        points.append((x + steps[0] * CELL, y + steps[1] * CELL))
        walks.setdefault(block, []).append(points[-1])
    return PlanPoints(tuple(points), tuple(_path_corners(walk) for walk in walks.values()), tuple(names), width, below)


def _path_corners(points):
    """A path without the points that lie on its straight lines."""
    kept = [
        here
        for before, here, after in zip(points, points[1:], points[2:], strict=False)
        if (here[0] - before[0]) * (after[1] - here[1]) != (here[1] - before[1]) * (after[0] - here[0])
        or (here[0] - before[0]) * (after[0] - here[0]) + (here[1] - before[1]) * (after[1] - here[1]) < 0
    ]
    return (*points[:1], *kept, *points[-1:]) if len(points) > 1 else tuple(points)
