"""Tables of a print: the widths of their columns, their rows, what of them stays on one page."""

from heapq import nlargest

from registry.prints.document import Table
from registry.prints.faces import BOLD, CODE, OBLIQUE, REGULAR, printable, text_width, wrap
from registry.prints.flow import BODY, GAP, LEADING, MARGIN, SMALL
from registry.prints.qr import POINTS_PER_MM

__all__ = ["draw_table"]

_HEAD_LEAST = 6.5  # the headings of a table shrink to this before its columns are changed
_KEPT_ROWS = 2  # rows of a table that stay with its heading and the headings of its columns
_WORD_SHARE = 0.3  # of the width of a table: a longer word of a cell is broken rather than given more
_MEASURED = 8  # of the longest words of a column
_FACES = {"": REGULAR, "code": CODE, "latin": OBLIQUE}


def draw_table(flow, part: Table):
    widths, letters = _column_widths(part, flow.width - GAP * (len(part.columns) - 1))
    keep = _height_to_keep(flow, part, widths, letters)
    flow.heading(part.title, keep)
    if part.note:
        flow.lines(part.note, size=8, gray=0.25)
    if not part.rows:
        flow.lines(part.empty or "Nothing recorded.", face=OBLIQUE, gray=0.25)
        flow.y -= 4
        return
    places, x = [], MARGIN
    for width in widths:
        places.append((x, width))
        x += width + GAP

    def head():
        flow.row(
            [(x, width, column.label, BOLD, letters, 0.15, column.align) for (x, width), column in zip(places, part.columns, strict=True)]
        )  # fmt: skip

    head()
    for number, row in enumerate(part.rows):
        flow.row(
            [
                (x, width, text, _FACES[column.face], _cell_size(column), 0, column.align)
                for (x, width), column, text in zip(places, part.columns, row, strict=True)
            ],
            head,
            part.write_mm * POINTS_PER_MM,
        )
        flow.keys[-1] += part.keys[number : number + 1]
    flow.y -= 4


def _height_to_keep(flow, part, widths, letters):
    """What stays on one page with the heading of a table: its note, the headings of its columns and its first rows."""
    note = len(wrap(part.note, REGULAR, 8, flow.width)) * 8 * LEADING if part.note else 0
    if not part.rows:
        return note + BODY * LEADING
    head = max(len(wrap(column.label, BOLD, letters, width)) for width, column in zip(widths, part.columns, strict=True))
    heights = [flow.row_height(head, letters * LEADING)]
    sizes = [_cell_size(column) for column in part.columns]
    for row in part.rows[:_KEPT_ROWS]:
        lines = [
            len(wrap(text, _FACES[column.face], size, width))
            for width, column, size, text in zip(widths, part.columns, sizes, row, strict=True)
        ]
        heights.append(flow.row_height(max(lines), max(sizes) * LEADING, part.write_mm * POINTS_PER_MM))
    return note + sum(heights)


def _column_widths(part, usable):
    """Widths by weight, and a size of letters, with which no word of a heading is broken and no word of a cell that is not very long.

    The headings shrink a little first; where that is not enough, the columns with room to spare give some of it, first for the
    headings, then for the cells.
    """
    columns = part.columns
    total = sum(column.weight for column in columns)
    widths = [usable * column.weight / total for column in columns]
    words = [max(text_width(word, BOLD, 1) for word in column.label.split(" ")) * 1.001 for column in columns]
    fits = min((width / word for width, word in zip(widths, words, strict=True) if word), default=SMALL)
    letters = min(SMALL, max(fits, _HEAD_LEAST))
    heads = [word * letters for word in words]
    cells = (_longest_word(column, [row[place] for row in part.rows]) for place, column in enumerate(columns))
    least = [max(head, min(cell, usable * _WORD_SHARE)) for head, cell in zip(heads, cells, strict=True)]
    return _with_room(_with_room(widths, heads), least), letters


def _with_room(widths, least):
    """Widths after those with more than they need gave some to those with less."""
    short = [max(0, need - width) for width, need in zip(widths, least, strict=True)]
    spare = [max(0, width - need) for width, need in zip(widths, least, strict=True)]
    if not sum(short):
        return widths
    given = min(1, sum(short) / sum(spare)) if sum(spare) else 0
    taken = given * sum(spare) / sum(short)
    return [width - given * more + taken * less for width, more, less in zip(widths, spare, short, strict=True)]


def _longest_word(column, texts):
    """How wide the widest word of some cells is, among those with the most letters."""
    face, size = _FACES[column.face], _cell_size(column)
    words = nlargest(_MEASURED, {word for text in set(texts) for word in str(text).split()}, key=len)
    return max((text_width(printable(word, face), face, size) for word in words), default=0) * 1.001


def _cell_size(column):
    return SMALL + (0 if column.face == "code" else 0.5)
