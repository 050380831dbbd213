"""Sheets of labels as they are sold, named by their measures; where each label lies."""

from dataclasses import dataclass

PAGES = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}  # mm: ANSI/ASME Y14.1 size A; ISO 216


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of labels. All measures in mm, from the upper left corner of the page.

    `left`, `top` of the first label; `across`, `down` from one label to the next.
    """

    key: str
    page: str
    columns: int
    rows: int
    width: float
    height: float
    left: float
    top: float
    across: float
    down: float

    @property
    def count(self) -> int:
        return self.columns * self.rows

    @property
    def name(self) -> str:
        page = {"letter": "Letter", "a4": "A4"}[self.page]
        return f"{self.columns} × {self.rows} labels of {self.width:g} × {self.height:g} mm on {page}"


@dataclass(frozen=True, slots=True)
class Box:
    """A place on a page, in mm from its upper left corner."""

    left: float
    top: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.left + self.width

    @property
    def bottom(self) -> float:
        return self.top + self.height


# Measures of common stock, rounded to 0.1 mm: common practice, no source. A test print on plain stock shows whether they fit.
_SHEETS = (
    LabelSheet("letter-3x10", "letter", 3, 10, 66.7, 25.4, 4.8, 12.7, 69.8, 25.4),
    LabelSheet("letter-2x7", "letter", 2, 7, 101.6, 33.8, 4.0, 21.4, 106.3, 33.8),
    LabelSheet("letter-2x5", "letter", 2, 5, 101.6, 50.8, 4.0, 12.7, 106.3, 50.8),
    LabelSheet("a4-3x8", "a4", 3, 8, 63.5, 33.9, 7.2, 12.9, 66.0, 33.9),
    LabelSheet("a4-3x7", "a4", 3, 7, 63.5, 38.1, 7.2, 15.1, 66.0, 38.1),
    LabelSheet("a4-2x7", "a4", 2, 7, 99.1, 38.1, 4.7, 15.1, 101.5, 38.1),
    LabelSheet("a4-2x4", "a4", 2, 4, 99.1, 67.7, 4.7, 13.1, 101.5, 67.7),
)
SHEETS = {sheet.key: sheet for sheet in _SHEETS}


def label_box(sheet: LabelSheet, place: int) -> Box:
    """Where a label lies.

    Parameters
    ----------
    sheet : LabelSheet
    place : int
        From 0, row by row from the upper left.

    Examples
    --------
    >>> label_box(SHEETS["a4-2x7"], 3)
    Box(left=106.2, top=53.2, width=99.1, height=38.1)
    """
    row, column = divmod(place, sheet.columns)
    return Box(
        round(sheet.left + column * sheet.across, 3), round(sheet.top + row * sheet.down, 3), sheet.width, sheet.height
    )  # fmt: skip


def label_places(sheet: LabelSheet, count: int, start: int = 1) -> list[tuple[int, int]]:
    """(page, place on it), both from 0, of `count` labels when the first goes onto the label `start`, counted from 1.

    Raises
    ------
    ValueError
        When the sheet has no label `start`.

    Examples
    --------
    >>> label_places(SHEETS["a4-2x4"], 3, start=7)
    [(0, 6), (0, 7), (1, 0)]
    """
    if not 1 <= start <= sheet.count:
        raise ValueError(f"There is no label {start} on a sheet of {sheet.count}. Enter 1 to {sheet.count}.")
    return [divmod(start - 1 + number, sheet.count) for number in range(count)]
