"""The `Map` of a print as shapes: lines, numbered places, a scale. North is up; one degree of latitude is as long everywhere on it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from registry.calc.shared.screen import number_words
from registry.calc.shared.shapes import Box, Dot, Line, Picture, Shape, Trace, Words
from registry.prints.document import Map

KM_PER_DEGREE = 111.32  # of latitude, WGS 84, to one part in two hundred
_WIDTH, _HEIGHT = 692, 356  # units of the picture
_NARROWEST = 0.4  # degrees of latitude across: a single place is shown with what is around it
_PADDING = 0.18
_TOGETHER = 12  # units; places nearer than this share one dot and its words
_NAME_ROOM = 40  # units between the middle of a name and any dot
_NAME_EDGE = 24  # units of the sides where a name would not be whole
_SCALE_HIGH = 60  # units of the lower edge where a name would stand on the scale
_SCALE_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class View:
    """What a map shows: a box in degrees, drawn in a box of units whose lower left corner is the origin."""

    west: float
    south: float
    degrees_wide: float
    degrees_high: float
    width: float
    height: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        """West, south, east, north in degrees."""
        return self.west, self.south, self.west + self.degrees_wide, self.south + self.degrees_high

    def at(self, lon: float, lat: float) -> tuple[float, float]:
        """A position in units.

        Examples
        --------
        >>> View(-74, 44, 2, 1, 200, 100).at(-73, 44.5)
        (100.0, 50.0)
        """
        return (lon - self.west) / self.degrees_wide * self.width, (lat - self.south) / self.degrees_high * self.height


def map_view(positions: list[tuple[float, float]], width: float, height: float) -> View:
    """The view that holds all positions, with room around them, in a box of units.

    Parameters
    ----------
    positions : list of (longitude, latitude)
        In degrees, at least one.
    width, height : float
        Of the box in units.

    Source
    ------
    Definition of this programme: the equidistant cylindrical projection with the middle latitude true to scale (from memory).

    Examples
    --------
    >>> [round(side, 2) for side in map_view([(-74.0, 44.0), (-72.0, 44.0)], 300, 150).box]
    [-74.44, 43.48, -71.56, 44.52]
    """
    lons, lats = zip(*positions, strict=True)
    middle = (max(lons) + min(lons)) / 2, (max(lats) + min(lats)) / 2
    shrink = max(0.05, math.cos(math.radians(middle[1])))  # degrees of longitude are shorter by this
    across = max((max(lons) - min(lons)) * shrink * (1 + 2 * _PADDING) * 1.06, _NARROWEST)
    up = max((max(lats) - min(lats)) * (1 + 2 * _PADDING), _NARROWEST)
    per_point = max(across / width, up / height)
    wide, high = per_point * width / shrink, per_point * height
    return View(middle[0] - wide / 2, middle[1] - high / 2, wide, high, width, height)


def dots(view: View, places: tuple[tuple[float, float, str], ...]) -> list[tuple[float, float, str]]:
    """Places as dots (x, y, words), those that would cover one another in one.

    Examples
    --------
    >>> dots(View(0, 0, 1, 1, 100, 100), ((0.5, 0.5, "1"), (0.51, 0.5, "2"), (0.9, 0.5, "3")))
    [(50.0, 50.0, '1, 2'), (90.0, 50.0, '3')]
    """
    found: list[tuple[float, float, str]] = []
    for lon, lat, words in places:
        x, y = view.at(lon, lat)
        near = next((n for n, (other_x, other_y, _) in enumerate(found) if math.hypot(x - other_x, y - other_y) < _TOGETHER), None)
        if near is None:
            found.append((x, y, words))
        else:
            found[near] = (*found[near][:2], f"{found[near][2]}, {words}")
    return found


def scale_km(view: View) -> float:
    """A round number of km that takes up to a quarter of the width.

    Examples
    --------
    >>> scale_km(View(-74, 44, 2, 1, 200, 100))
    50
    """
    most = view.degrees_high * KM_PER_DEGREE / view.height * view.width * _SCALE_SHARE
    power = 10 ** math.floor(math.log10(most))
    return next(step * power for step in (5, 2, 1) if step * power <= most)


def clipped(line: Sequence[tuple[float, float]], width: float, height: float) -> list[tuple[tuple[float, float], ...]]:
    """The parts of a line through points that lie in a box with a corner at the origin.

    Source
    ------
    Liang & Barsky 1984, ACM Trans. Graph. 3:1-22 (from memory), for each piece of the line.

    Examples
    --------
    >>> clipped([(-10, 5), (10, 5), (10, 30)], 20, 20)
    [((0.0, 5.0), (10, 5), (10.0, 20.0))]
    """
    parts: list[list[tuple[float, float]]] = []
    for start, end in zip(line, line[1:], strict=False):
        across, down = end[0] - start[0], end[1] - start[1]
        enters, leaves = 0.0, 1.0
        for step, room in ((-across, start[0]), (across, width - start[0]), (-down, start[1]), (down, height - start[1])):
            if step < 0:
                enters = max(enters, room / step)
            elif step > 0:
                leaves = min(leaves, room / step)
            elif room < 0:
                enters, leaves = 1.0, 0.0
        if enters >= leaves:
            continue
        first = start if enters == 0 else (start[0] + enters * across, start[1] + enters * down)
        last = end if leaves == 1 else (start[0] + leaves * across, start[1] + leaves * down)
        if parts and parts[-1][-1] == first:
            parts[-1].append(last)
        else:
            parts.append([first, last])
    return [tuple(part) for part in parts]


def map_picture(part: Map) -> Picture:
    """The map as shapes: lines, names of areas where there is room, numbered places, a scale.

    Source
    ------
    Definition of this programme.
    """
    view = map_view([(lon, lat) for lon, lat, _words in part.places], _WIDTH, _HEIGHT)

    def at(lon, lat):
        x, y = view.at(lon, lat)
        return x, _HEIGHT - y

    lines = (clipped([at(lon, lat) for lon, lat in line], _WIDTH, _HEIGHT) for line in part.lines)
    shapes: list[Shape] = [
        Trace("outline", tuple((round(x, 1), round(y, 1)) for x, y in piece)) for pieces in lines for piece in pieces
    ]  # fmt: skip
    found = [(x, _HEIGHT - y, words) for x, y, words in dots(view, part.places)]
    for lon, lat, words in part.names:
        x, y = at(lon, lat)
        is_inside = _NAME_EDGE < x < _WIDTH - _NAME_EDGE and 10 < y < _HEIGHT - 10
        on_scale = y > _HEIGHT - _SCALE_HIGH and x < _WIDTH * (_SCALE_SHARE + 0.05)
        if is_inside and not on_scale and all(math.hypot(x - dot_x, y - dot_y) > _NAME_ROOM for dot_x, dot_y, _words in found):
            shapes.append(Words("label", round(x, 1), round(y + 4, 1), words, "middle"))
    for x, y, words in found:
        # on the left of the dot where there is no room on its right
        is_left = x >= _WIDTH * 0.8
        shapes.append(Dot("estimate", round(x, 1), round(y, 1), 4))
        shapes.append(Words("title", round(x + (-7 if is_left else 7), 1), round(y + 4, 1), words, "end" if is_left else "start"))
    km = scale_km(view)
    length = round(km / KM_PER_DEGREE / view.degrees_high * view.height, 1)
    shapes += [Line("range", 10, _HEIGHT - 10, 10 + length, _HEIGHT - 10), Words("label", 10, _HEIGHT - 15, f"{number_words(km)} km")]
    return Picture(_WIDTH, _HEIGHT, (*shapes, Box("frame", 0, 0, _WIDTH, _HEIGHT)))
