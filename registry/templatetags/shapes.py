"""Writes a `Picture` as SVG. The class of each shape is `drawn-` and its style; the looks are in css/parts/drawn.css."""

from django import template
from django.utils.html import escape
from django.utils.safestring import mark_safe

from registry.calc.shared.shapes import FORMS, Box, Dot, Line, Marks, Trace, Words

register = template.Library()


def _line(shape, unit):
    ends = f'x1="{shape.x1:g}{unit}" y1="{shape.y1:g}" x2="{shape.x2:g}{unit}" y2="{shape.y2:g}"'
    return f'<line class="drawn-{escape(shape.style)}" {ends}/>'


def _box(shape, unit):
    size = f'width="{shape.width:g}{unit}" height="{shape.height:g}"'
    return f'<rect class="drawn-{escape(shape.style)}" x="{shape.x:g}{unit}" y="{shape.y:g}" {size}/>'


def _dot(shape, unit):
    if not shape.is_diamond:
        return f'<circle class="drawn-{escape(shape.style)}" cx="{shape.x:g}{unit}" cy="{shape.y:g}" r="{shape.radius:g}"/>'
    size = f"{shape.radius:g}"
    path = f'<path class="drawn-{escape(shape.style)}" d="M0-{size} {size} 0 0 {size}-{size} 0z"/>'
    return f'<svg x="{shape.x:g}{unit}" y="{shape.y:g}" overflow="visible">{path}</svg>'


def _trace(shape, _unit):
    points = ", ".join(f"{x:g} {y:g}" for x, y in shape.points)
    return f'<{"polygon" if shape.is_area else "polyline"} class="drawn-{escape(shape.style)}" points="{points}"/>'


def _words(shape, unit):
    place = f'x="{shape.x:g}{unit}" y="{shape.y:g}" text-anchor="{escape(shape.anchor)}"'
    return f'<text class="drawn-{escape(shape.style)}" {place}>{escape(shape.text)}</text>'


def _marks(shape, _unit):
    """One path for all of them, so that a thousand take a few kilobytes. A dot is a point of a round pen."""
    (left, top), steps = _mark_steps(shape.form, shape.size)
    moves = "".join(f"M{x + left:.4g} {y + top:.4g}{steps}" for x, y in shape.points)
    pen = f' stroke-width="{2 * shape.size:g}" stroke-linecap="round"' if shape.form == "dot" else ""
    return f'<path class="drawn-{escape(shape.style)}" d="{moves}"{pen}/>'


def _mark_steps(form, size):
    """(where a mark begins from its centre, its lines as steps from there)."""
    if form == "dot":
        return (0, 0), "h0"
    if form == "ring":
        arc = f"a{size:g} {size:g} 0 1 0"
        return (-size, 0), f"{arc} {2 * size:g} 0{arc}-{2 * size:g} 0"
    start = before = FORMS[form][0][0][0]
    text = ""
    for points, is_closed in FORMS[form]:
        for number, point in enumerate(points):
            across, down = (point[0] - before[0]) * size, (point[1] - before[1]) * size
            if number or before is not start:
                text += _step("l" if number else "m", across, down)
            before = point
        if is_closed:
            text, before = text + "z", points[0]
    return (start[0] * size, start[1] * size), text


def _step(letter, across, down):
    """The shortest way to write a step."""
    if letter == "l" and not (across and down):
        return f"h{across:.3g}" if across else f"v{down:.3g}"
    return f"{letter}{across:.3g}{'' if down < 0 else ' '}{down:.3g}"


_WRITERS = {Line: _line, Box: _box, Dot: _dot, Trace: _trace, Words: _words, Marks: _marks}


@register.simple_tag
def drawn(picture):
    """The picture as SVG for the eye alone: what it says is in words and numbers beside it."""
    unit = "%" if picture.is_fluid else ""
    shapes = "".join(_WRITERS[type(shape)](shape, unit) for shape in picture.shapes)
    size = f'width="100%" height="{picture.height:g}"' if picture.is_fluid else f'viewBox="0 0 {picture.width:g} {picture.height:g}"'
    return mark_safe(f'<svg class="drawn" {size} aria-hidden="true" focusable="false">{shapes}</svg>')
