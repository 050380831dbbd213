"""A print of pages: what it is made of, in plain values. `draw_document` makes the PDF; the screen shows the same parts."""

import datetime
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Facts:
    """Labels with what is known; a blank value prints as `blank`. `columns` pairs are side by side, each label with its share of them."""

    rows: tuple[tuple[str, str], ...]
    title: str = ""
    note: str = ""
    blank: str = "not recorded"
    columns: int = 1
    label_share: float = 0.32


@dataclass(frozen=True, slots=True)
class TableColumn:
    """`weight` is its share of the width; `align` is "left" or "right"; `face` is "", "code" or "latin"."""

    label: str
    weight: float = 1
    align: str = "left"
    face: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text; `empty` is printed where there is none. The head is printed again on every page.

    With `write_mm` the blank cells are boxes to write in by pen: rows at least that high, with rules between the columns. `keys`, where
    given, name the rows: what is laid out says which of them are on which page.
    """

    title: str
    columns: tuple[TableColumn, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    empty: str = ""
    write_mm: float = 0
    keys: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Alert:
    """What must not be overlooked: `title` in white on black, with `lines` under it."""

    title: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Banner:
    """A line in large letters in a box, such as how to store what is in it."""

    text: str


@dataclass(frozen=True, slots=True)
class Notes:
    """Plain sentences, one a line."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ByHand:
    """Places to be filled in by pen."""

    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Map:
    """A map: `lines` of (longitude, latitude), `places` as (longitude, latitude, the words beside the dot), and what the words mean.

    `names` are of areas, drawn pale where there is room.
    """

    title: str
    lines: tuple[tuple[tuple[float, float], ...], ...]
    places: tuple[tuple[float, float, str], ...]
    key: tuple[str, ...]
    note: str = ""
    names: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class PlanPanel:
    """Trees of a planting in the order they are walked, as (row, position); `name` says which, `first` is the tag of the first."""

    name: str
    first: str
    places: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan of a planting: its trees as dots, the line that is walked, a ring around the first tree of each panel."""

    title: str
    note: str
    panels: tuple[PlanPanel, ...]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points (x, y); `gray` is 0 for ink, 1 for paper; `dashed` breaks it."""

    points: tuple[tuple[float, float], ...]
    width: float = 1
    gray: float = 0
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Area:
    """The inside of a line through points, in one shade."""

    points: tuple[tuple[float, float], ...]
    gray: float = 0.85


@dataclass(frozen=True, slots=True)
class Dot:
    """A round mark, filled or hollow."""

    x: float
    y: float
    radius: float = 3
    gray: float = 0
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """Words whose foot is at `y`; `anchor` is "start", "middle" or "end"."""

    x: float
    y: float
    text: str
    size: float = 9
    anchor: str = "start"
    gray: float = 0


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in a box of `width` × `height`, its upper left corner at (0, 0), in the order of `shapes`. `words` say what it shows
    to whoever cannot see it. The page draws it as SVG and the print with reportlab, from these values."""

    title: str
    width: float
    height: float
    shapes: tuple[Stroke | Area | Dot | Label, ...]
    words: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class PageMark:
    """What the foot of a page carries besides its number: a code, the texts its QR code may hold (the best first), what it is for."""

    code: str
    scan: tuple[str, ...]
    words: str


Part = Facts | Table | Alert | Banner | Notes | ByHand | Map | Plan | Picture


@dataclass(frozen=True, slots=True)
class Document:
    """A print.

    `code` in readable letters and `scan`, the texts its QR code may hold (the best first), may be blank. `made` and
    `page_words` are printed at the foot. `draft`, where given, is on every page over a watermark. Each of `copies` is a complete set of
    pages with its own count and its word at the head. With `least_scale` below 1 it is drawn smaller, down to that, where it
    then fits on one page. With `marked` the foot of each page has room for a `PageMark`.
    """

    title: str
    made_on: datetime.date
    parts: tuple[Part, ...]
    subtitle: str = ""
    code: str = ""
    scan: tuple[str, ...] = ()
    made: str = ""
    page_words: str = "page %(number)s of %(count)s"
    draft: str = ""
    least_scale: float = 1
    marked: bool = False
    copies: tuple[str, ...] = field(default=("",))
