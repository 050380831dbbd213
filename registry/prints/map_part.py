"""Draws a `Map` of a print: lines, numbered places, a scale, the key. North is up; one degree of latitude is as long everywhere on it."""

import math
from dataclasses import dataclass

from registry.calc.shared.screen import number_words
from registry.prints.document import Map
from registry.prints.faces import BOLD, REGULAR
from registry.prints.qr import POINTS_PER_MM

KM_PER_DEGREE = 111.32  # of latitude, WGS 84, to one part in two hundred
_HEIGHT_MM = 95
_NARROWEST = 0.4  # degrees of latitude across: a single place is shown with what is around it
_PADDING = 0.18
_TOGETHER = 9  # points; places nearer than this share one dot and its words
_NAME_ROOM = 30  # points between the middle of a name and any dot
_SCALE_HIGH = 45  # points of the lower edge where a name would stand on the scale
_SCALE_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class View:
    """What a map shows: a box in degrees, drawn in a box of points whose lower left corner is the origin."""

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
        """A position in points.

        Examples
        --------
        >>> View(-74, 44, 2, 1, 200, 100).at(-73, 44.5)
        (100.0, 50.0)
        """
        return (lon - self.west) / self.degrees_wide * self.width, (lat - self.south) / self.degrees_high * self.height


def map_view(positions: list[tuple[float, float]], width: float, height: float) -> View:
    """The view that holds all positions, with room around them, in a box of points.

    Parameters
    ----------
    positions : list of (longitude, latitude)
        In degrees, at least one.
    width, height : float
        Of the box in points.

    Source
    ------
    Definition of this programme: the equidistant cylindrical projection with the middle latitude true to scale (from memory).

    Examples
    --------
    >>> [round(side, 2) for side in map_view([(-74.0, 44.0), (-72.0, 44.0)], 300, 150).box]
    [-74.44, 42.96, -71.56, 45.04]
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
    20
    """
    most = view.degrees_high * KM_PER_DEGREE / view.height * view.width * _SCALE_SHARE
    power = 10 ** math.floor(math.log10(most))
    return next(step * power for step in (5, 2, 1) if step * power <= most)


def draw_map(flow, part: Map, margin: float) -> None:
    """The map in its box, its note, and its key below it."""
    height = _HEIGHT_MM * POINTS_PER_MM
    flow.heading(part.title, keep=height + 30)
    flow.room(height + 20)
    view = map_view([(lon, lat) for lon, lat, _words in part.places], flow.width, height)
    bottom = flow.y - height
    flow.pages[-1].append(lambda canvas: _draw(canvas, part, view, margin, bottom))
    flow.y = bottom - 4
    if part.note:
        flow.lines(part.note, size=7.5, gray=0.25)
    for line in part.key:
        flow.lines(line, size=8)
    flow.y -= 4


def _draw(canvas, part, view, left, bottom):
    canvas.saveState()
    canvas.translate(left, bottom)
    outline = canvas.beginPath()
    outline.rect(0, 0, view.width, view.height)
    canvas.clipPath(outline, stroke=0, fill=0)
    canvas.setStrokeGray(0.55)
    canvas.setLineWidth(0.6)
    for line in part.lines:
        path = canvas.beginPath()
        for number, (lon, lat) in enumerate(line):
            (path.lineTo if number else path.moveTo)(*view.at(lon, lat))
        canvas.drawPath(path, stroke=1, fill=0)
    placed = dots(view, part.places)
    canvas.setFillGray(0.5)
    canvas.setFont(REGULAR, 8)
    for lon, lat, words in part.names:
        x, y = view.at(lon, lat)
        on_scale = y < _SCALE_HIGH and x < view.width * (_SCALE_SHARE + 0.05)
        if not on_scale and all(math.hypot(x - other_x, y - other_y) > _NAME_ROOM for other_x, other_y, _words in placed):
            canvas.drawCentredString(x, y - 3, words)
    canvas.setFillGray(0)
    for x, y, words in placed:
        canvas.circle(x, y, 2.8, stroke=0, fill=1)
        canvas.setFont(BOLD, 8)
        # on the left of the dot where there is no room on its right
        (canvas.drawString if x < view.width * 0.8 else canvas.drawRightString)(x + (5 if x < view.width * 0.8 else -5), y - 2.8, words)
    km = scale_km(view)
    length = km / KM_PER_DEGREE / view.degrees_high * view.height
    canvas.setStrokeGray(0)
    canvas.setLineWidth(1.2)
    canvas.line(8, 8, 8 + length, 8)
    canvas.setFont(REGULAR, 7.5)
    canvas.drawString(8, 11, f"{number_words(km)} km")
    canvas.restoreState()
    canvas.setStrokeGray(0.3)
    canvas.setLineWidth(0.6)
    canvas.rect(left, bottom, view.width, view.height, stroke=1, fill=0)
