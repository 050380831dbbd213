"""What a picture is made of, as plain values: a page writes them as SVG, a print draws them with the same marks in black.

Lengths are in the units of the picture, with the origin at its upper left corner. `style` is a word: how it looks is up to the writer.

Source
------
Definition of this programme for all of it: one description of a picture, however many writers.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from one point to another."""

    style: str
    x1: float
    y1: float
    x2: float
    y2: float


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle by its upper left corner and size."""

    style: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Dot:
    """A circle, or a square on its corner where `is_diamond`."""

    style: str
    x: float
    y: float
    radius: float
    is_diamond: bool = False


@dataclass(frozen=True, slots=True)
class Trace:
    """A line through points, (x, y) each; closed and filled where `is_area`."""

    style: str
    points: tuple[tuple[float, float], ...]
    is_area: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """A text in one line; `anchor` is start, middle or end: which part of it is at x. y is that of its baseline."""

    style: str
    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True, slots=True)
class Marks:
    """The same small mark at many points: `form` is a name of `FORMS`, `size` half its width."""

    style: str
    form: str
    size: float
    points: tuple[tuple[float, float], ...]


Shape = Line | Box | Dot | Trace | Words | Marks


@dataclass(frozen=True, slots=True)
class Picture:
    """Shapes in the order they are drawn, later ones on top.

    Where `is_fluid`, every x is percent of the width that the page has, and only the height is in units.
    """

    width: float
    height: float
    shapes: tuple[Shape, ...]
    is_fluid: bool = False


# The lines of each mark from its centre, half its width being 1: (points, is closed). A dot is a full circle, a ring an open one.
FORMS = {
    "dot": (),
    "cross": ((((-1, -1), (1, 1)), False), (((-1, 1), (1, -1)), False)),
    "plus": ((((-1, 0), (1, 0)), False), (((0, -1), (0, 1)), False)),
    "dash": ((((-1, 0), (1, 0)), False),),
    "ring": (),
    "square": ((((-1, -1), (1, -1), (1, 1), (-1, 1)), True),),
    "triangle": ((((0, -1), (1, 0.9), (-1, 0.9)), True),),
}


def placed(shapes: Iterable[Shape], x: float, y: float, across: float = 1, down: float = 1) -> tuple[Shape, ...]:
    """Shapes with their places scaled by `across` and `down`, then moved by x and y. Marks and texts keep their size.

    Parameters
    ----------
    shapes : iterable of Shape
    x, y : float
        In units of the picture they are moved into.
    across, down : float
        Units of that picture for one of their own, above 0.

    Source
    ------
    Arithmetic, no source.

    Examples
    --------
    >>> placed([Dot("mark", 50, 10, 3)], 100, 20, across=2)
    (Dot(style='mark', x=200, y=30, radius=3, is_diamond=False),)
    """

    def at(point):
        return round(x + point[0] * across, 2), round(y + point[1] * down, 2)

    def move(shape):
        if isinstance(shape, Line):
            return Line(shape.style, *at((shape.x1, shape.y1)), *at((shape.x2, shape.y2)))
        if isinstance(shape, (Trace, Marks)):
            return replace(shape, points=tuple(map(at, shape.points)))
        left, top = at((shape.x, shape.y))
        if isinstance(shape, Box):
            return Box(shape.style, left, top, round(shape.width * across, 2), round(shape.height * down, 2))
        return replace(shape, x=left, y=top)

    return tuple(map(move, shapes))


def beside(panels: Sequence[tuple[str, Picture]], columns: int, gap: float = 16) -> list[Picture]:
    """Small pictures side by side under their names, as one picture for each row of them.

    Parameters
    ----------
    panels : sequence of (name, Picture)
        All of one size.
    columns : int
        How many in a row, 1 or more.
    gap : float
        Units left free between two of them.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> [(row.width, row.height, len(row.shapes)) for row in beside([("a", Picture(40, 30, ())), ("b", Picture(40, 30, ()))], 2)]
    [(96, 48, 2)]
    """
    rows = []
    for start in range(0, len(panels), columns):
        row, shapes = panels[start : start + columns], []
        for number, (name, picture) in enumerate(row):
            left = number * (picture.width + gap)
            shapes += [Words("name", left, 12, name), *placed(picture.shapes, left, 18)]
        wide, high = row[0][1].width, row[0][1].height
        rows.append(Picture(columns * wide + (columns - 1) * gap, high + 18, tuple(shapes)))
    return rows
