"""Draws a `Drawing` or a `Map` of a print with reportlab: the shapes that a page writes as SVG, in black on paper."""

from dataclasses import dataclass

from registry.calc.shared.shapes import FORMS, Box, Dot, Line, Marks, Trace, Words
from registry.prints.document import Drawing, Map
from registry.prints.faces import BOLD, REGULAR
from registry.prints.flow import MARGIN
from registry.prints.map_part import map_picture

__all__ = ["LOOKS", "draw_drawing", "draw_map"]

_MOST = 0.76  # points of the page for one of the picture, at most: three curves fit on a page


@dataclass(frozen=True, slots=True)
class Look:
    """How a style looks on paper: 0 is ink, 1 is paper. `fill` None leaves a shape open; `size` is that of letters."""

    gray: float = 0
    width: float = 1
    dash: tuple[float, ...] = ()
    fill: float | None = None
    size: float = 11
    face: str = REGULAR


# The same words have their colours in registry/css/parts/drawn.css.
LOOKS = {
    "grid": Look(0.8, 0.5), "axis": Look(0.4, 0.8), "label": Look(0.3), "number": Look(), "name": Look(), "title": Look(face=BOLD),
    "bar": Look(0.5, 0, fill=0.5), "band": Look(0.87, 0, fill=0.87),
    "lineage": Look(0, 1.25, (4, 3)), "lineage-range": Look(0, 1.25), "lineage-dot": Look(0, 1.5, fill=1),
    "check": Look(0, 2.75), "check-range": Look(0, 2.75), "check-dot": Look(0, 1, fill=0), "curve": Look(0, 1.4),
    "native": Look(0, 2), "donor": Look(0.35, 1, (5, 3)), "site": Look(0.4, 1), "range": Look(0, 1.5), "estimate": Look(0, 1, fill=0),
    "shrunken": Look(0, 1.4, fill=1), "outline": Look(0.55, 0.8), "frame": Look(0.3, 0.8), "walk": Look(0.75, 0.5), "start": Look(0.4, 0.8),
    "fate-alive": Look(), "fate-alive-shape": Look(0, 0, fill=0), "fate-dead": Look(0, 1.1), "fate-lost": Look(0.25, 0.9),
    "fate-gone": Look(0.25, 0.7),
    "shade-1": Look(0.75, 0, fill=0.75), "shade-2": Look(0.6, 0, fill=0.6), "shade-3": Look(0.42, 0, fill=0.42),
    "shade-4": Look(0.22, 0, fill=0.22), "shade-5": Look(0, 0, fill=0),
}  # fmt: skip


def draw_drawing(flow, part: Drawing) -> None:
    """The picture with its title on one page, at most as wide as the page, and its note below it."""
    _draw_titled(flow, part.title, part.picture, part.note)


def draw_map(flow, part: Map) -> None:
    """The map with its note and its key below it."""
    _draw_titled(flow, part.title, map_picture(part), part.note)
    for line in part.key:
        flow.lines(line, size=8)
    flow.y -= 4


def _draw_titled(flow, title, picture, note):
    scale = min(_MOST, flow.width / picture.width, (flow.top - flow.bottom - 60) / picture.height)
    height = picture.height * scale
    flow.heading(title, keep=height + 24)
    flow.room(height + 14)
    top = flow.y
    flow.pages[-1].append(lambda canvas: _draw(canvas, picture, scale, top))
    flow.y = top - height - 4
    if note:
        flow.lines(note, size=7.5, gray=0.25)
    flow.y -= 4


def _draw(canvas, picture, scale, top):
    canvas.saveState()
    canvas.translate(MARGIN, top)
    canvas.scale(scale, scale)
    for shape in picture.shapes:
        look = LOOKS[shape.style]
        canvas.setStrokeGray(look.gray)
        canvas.setFillGray(look.gray if look.fill is None else look.fill)
        canvas.setLineWidth(look.width)
        canvas.setDash(*look.dash) if look.dash else canvas.setDash()
        _WRITERS[type(shape)](canvas, shape, look)
    canvas.restoreState()


def _path(canvas, lines):
    """Lines as one path: (points, is closed) each, with y downwards."""
    path = canvas.beginPath()
    for points, is_closed in lines:
        path.moveTo(points[0][0], -points[0][1])
        for x, y in points[1:]:
            path.lineTo(x, -y)
        if is_closed:
            path.close()
    return path


def _line(canvas, shape, _look):
    canvas.line(shape.x1, -shape.y1, shape.x2, -shape.y2)


def _box(canvas, shape, look):
    canvas.rect(shape.x, -shape.y - shape.height, shape.width, shape.height, stroke=look.width > 0, fill=look.fill is not None)


def _dot(canvas, shape, look):
    if not shape.is_diamond:
        canvas.circle(shape.x, -shape.y, shape.radius, stroke=look.width > 0, fill=look.fill is not None)
        return
    x, y, size = shape.x, shape.y, shape.radius
    corners = ((x, y - size), (x + size, y), (x, y + size), (x - size, y))
    canvas.drawPath(_path(canvas, [(corners, True)]), stroke=look.width > 0, fill=look.fill is not None)


def _trace(canvas, shape, look):
    canvas.drawPath(_path(canvas, [(shape.points, shape.is_area)]), stroke=look.width > 0, fill=shape.is_area and look.fill is not None)


def _words(canvas, shape, look):
    canvas.setFillGray(look.gray)
    canvas.setFont(look.face, look.size)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[shape.anchor]
    draw(shape.x, -shape.y, shape.text)


def _marks(canvas, shape, look):
    if not FORMS[shape.form]:
        is_ring = shape.form == "ring"
        for x, y in shape.points:
            canvas.circle(x, -y, shape.size, stroke=is_ring, fill=not is_ring)
        return
    lines = [
        ([(x + across * shape.size, y + down * shape.size) for across, down in points], is_closed)
        for x, y in shape.points
        for points, is_closed in FORMS[shape.form]
    ]
    canvas.drawPath(_path(canvas, lines), stroke=look.width > 0, fill=look.fill is not None)


_WRITERS = {Line: _line, Box: _box, Dot: _dot, Trace: _trace, Words: _words, Marks: _marks}
