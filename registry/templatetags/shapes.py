"""Writes a `Picture` as SVG. The class of each shape is `drawn-` and its style."""

from django import template
from django.utils.html import escape
from django.utils.safestring import mark_safe

from registry.calc.shared.shapes import Box, Dot, Line, Trace, Words

register = template.Library()


def _line(shape):
    return f'<line class="drawn-{escape(shape.style)}" x1="{shape.x1:g}" y1="{shape.y1:g}" x2="{shape.x2:g}" y2="{shape.y2:g}"/>'


def _box(shape):
    size = f'width="{shape.width:g}" height="{shape.height:g}"'
    return f'<rect class="drawn-{escape(shape.style)}" x="{shape.x:g}" y="{shape.y:g}" {size}/>'


def _dot(shape):
    return f'<circle class="drawn-{escape(shape.style)}" cx="{shape.x:g}" cy="{shape.y:g}" r="{shape.radius:g}"/>'


def _trace(shape):
    points = " ".join(f"{x:g},{y:g}" for x, y in shape.points)
    return f'<{"polygon" if shape.is_area else "polyline"} class="drawn-{escape(shape.style)}" points="{points}"/>'


def _words(shape):
    place = f'x="{shape.x:g}" y="{shape.y:g}" text-anchor="{escape(shape.anchor)}"'
    return f'<text class="drawn-{escape(shape.style)}" {place}>{escape(shape.text)}</text>'


_WRITERS = {Line: _line, Box: _box, Dot: _dot, Trace: _trace, Words: _words}


@register.simple_tag
def drawn(picture):
    """The picture as SVG for the eye alone: what it says is in words and numbers beside it."""
    shapes = "".join(_WRITERS[type(shape)](shape) for shape in picture.shapes)
    size = f"0 0 {picture.width:g} {picture.height:g}"
    return mark_safe(f'<svg class="drawn" viewBox="{size}" aria-hidden="true" focusable="false">{shapes}</svg>')
