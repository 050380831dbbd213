"""Draws a `Plan` of a print: the trees of a planting as dots, the line that is walked, and where it begins and ends. It is not to scale."""

from functools import partial

from registry.prints.document import Plan
from registry.prints.faces import BOLD, CODE
from registry.prints.flow import GAP
from registry.prints.qr import POINTS_PER_MM

_ACROSS = 4  # panels side by side
_ONE_MM, _MANY_MM = 58, 34  # height of one panel alone, and of each of several
_EDGE, _STEP = 12, 14  # points left free around the dots; the most between two of them
_CODE_SIZE = 7


def plan_points(places: tuple[tuple[int, int], ...], width: float, height: float) -> list[tuple[float, float]]:
    """Points of a box for the (row, position) of trees. The longer side of the planting runs along the longer side of the box.

    Parameters
    ----------
    places : tuple of (row, position)
        At least one.
    width, height : float
        Of the box in points; its lower left corner is the origin.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> plan_points(((1, 1), (1, 2), (2, 2), (2, 1)), 100, 50)
    [(12, 12), (26, 12), (26, 26), (12, 26)]
    """
    rows, positions = zip(*places, strict=True)
    lows, spans = (min(positions), min(rows)), (max(positions) - min(positions), max(rows) - min(rows))
    turned = (spans[1] > spans[0]) == (width > height) and spans[0] != spans[1]
    across, up = spans[::-1] if turned else spans
    step = min(_STEP, (width - 2 * _EDGE) / max(across, 1), (height - 2 * _EDGE) / max(up, 1))
    flat = [(position - lows[0], row - lows[1]) for row, position in places]
    return [(_EDGE + x * step, _EDGE + y * step) for x, y in (point[::-1] if turned else point for point in flat)]


def code_point(points: list[tuple[float, float]], length: float, width: float) -> tuple[float, float]:
    """Where the tag of the first tree is written: under its ring, or over it where trees are below, within the box.

    Parameters
    ----------
    points : list of (x, y)
        Of the trees, the first one first.
    length, width : float
        Of the tag and of the box, in points.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> code_point([(12, 12), (12, 26)], 20, 100), code_point([(90, 26), (12, 12)], 20, 100)
    ((7, 2), (76, 32))
    """
    x, y = points[0]
    is_lowest = y == min(other for _x, other in points)
    return min(x - 5, width - length - 4), y - 10 if is_lowest else y + 6


def draw_plan(flow, part: Plan, margin: float) -> None:
    """The panels of a plan, side by side, each under its name."""
    columns = min(len(part.panels), _ACROSS)
    width = (flow.width - GAP * (columns - 1)) / columns
    most = (_ONE_MM if columns == 1 else _MANY_MM) * POINTS_PER_MM
    drawn = [plan_points(panel.places, width, most) for panel in part.panels]
    height = min(most, max(y for points in drawn for _x, y in points) + 2 * _EDGE)
    flow.heading(part.title, keep=height + 24)
    if part.note:
        flow.lines(part.note, size=8, gray=0.25)
    for start in range(0, len(part.panels), columns):
        flow.room(height + 6)
        bottom = flow.y - height
        for number in range(start, min(start + columns, len(part.panels))):
            place = margin + (number - start) * (width + GAP), bottom, width, height
            flow.pages[-1].append(partial(_draw, panel=part.panels[number], points=drawn[number], place=place))
        flow.y = bottom - 6
    flow.y -= 4


def _draw(canvas, panel, points, place):
    left, bottom, width, height = place
    canvas.saveState()
    canvas.translate(left, bottom)
    canvas.setStrokeGray(0.6)
    canvas.setLineWidth(0.6)
    canvas.rect(0, 0, width, height, stroke=1, fill=0)
    path = canvas.beginPath()
    for number, point in enumerate(points):
        (path.lineTo if number else path.moveTo)(*point)
    canvas.drawPath(path, stroke=1, fill=0)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    for x, y in points:
        canvas.circle(x, y, 1.1, stroke=0, fill=1)
    canvas.circle(*points[0], 4, stroke=1, fill=0)
    canvas.setFont(BOLD, 7.5)
    canvas.drawString(4, height - 9, panel.name)
    canvas.setFont(CODE, _CODE_SIZE)
    canvas.drawString(*code_point(points, canvas.stringWidth(panel.first, CODE, _CODE_SIZE), width), panel.first)
    canvas.restoreState()
