"""Draws a `Picture` of a print with reportlab. The page draws the same values as SVG."""

from registry.prints.document import Area, Dot, Label, Picture, Stroke
from registry.prints.faces import REGULAR
from registry.prints.flow import MARGIN

__all__ = ["draw_picture"]

_MOST = 0.76  # points of the page for one of the picture, at most: three curves fit on a page
_DASH = (3, 2)


def draw_picture(flow, part: Picture) -> None:
    """The picture with its title on one page, at most as wide as the page, and its note below it."""
    scale = min(_MOST, flow.width / part.width, (flow.top - flow.bottom - 60) / part.height)
    height = part.height * scale
    flow.heading(part.title, keep=height + 24)
    flow.room(height + 14)
    top = flow.y
    flow.pages[-1].append(lambda canvas: _draw(canvas, part, scale, top))
    flow.y = top - height - 4
    if part.note:
        flow.lines(part.note, size=7.5, gray=0.25)
    flow.y -= 4


def _draw(canvas, part, scale, top):
    canvas.saveState()
    canvas.translate(MARGIN, top)
    canvas.scale(scale, scale)
    for shape in part.shapes:
        _WRITERS[type(shape)](canvas, shape)
    canvas.restoreState()


def _path(canvas, points):
    path = canvas.beginPath()
    path.moveTo(points[0][0], -points[0][1])
    for x, y in points[1:]:
        path.lineTo(x, -y)
    return path


def _stroke(canvas, shape):
    canvas.setStrokeGray(shape.gray)
    canvas.setLineWidth(shape.width)
    canvas.setDash(*_DASH) if shape.dashed else canvas.setDash()
    canvas.drawPath(_path(canvas, shape.points), stroke=1, fill=0)


def _area(canvas, shape):
    canvas.setFillGray(shape.gray)
    canvas.drawPath(_path(canvas, shape.points), stroke=0, fill=1)


def _dot(canvas, shape):
    canvas.setDash()
    canvas.setLineWidth(1)
    canvas.setStrokeGray(shape.gray)
    canvas.setFillGray(1 if shape.hollow else shape.gray)
    canvas.circle(shape.x, -shape.y, shape.radius, stroke=1, fill=1)


def _label(canvas, shape):
    canvas.setFillGray(shape.gray)
    canvas.setFont(REGULAR, shape.size)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[shape.anchor]
    draw(shape.x, -shape.y, shape.text)


_WRITERS = {Stroke: _stroke, Area: _area, Dot: _dot, Label: _label}
