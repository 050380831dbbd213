"""What a picture is made of, as plain values: a page writes them as SVG, a print may draw the same ones.

Lengths are in the units of the picture, with the origin at its upper left corner. `style` is a word: how it looks is up to the writer.

Source
------
Definition of this programme for all of it: one description of a picture, however many writers.
"""

from dataclasses import dataclass
from typing import NamedTuple


class Line(NamedTuple):
    """A straight line from one point to another."""

    style: str
    x1: float
    y1: float
    x2: float
    y2: float


class Box(NamedTuple):
    """A rectangle by its upper left corner and size."""

    style: str
    x: float
    y: float
    width: float
    height: float


class Dot(NamedTuple):
    """A circle."""

    style: str
    x: float
    y: float
    radius: float


class Trace(NamedTuple):
    """A line through points, (x, y) each; closed and filled where `is_area`."""

    style: str
    points: tuple[tuple[float, float], ...]
    is_area: bool = False


class Words(NamedTuple):
    """A text in one line; `anchor` is start, middle or end: which part of it is at x. y is that of its baseline."""

    style: str
    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True, slots=True)
class Picture:
    """Shapes in the order they are drawn, later ones on top."""

    width: float
    height: float
    shapes: tuple[Line | Box | Dot | Trace | Words, ...]
