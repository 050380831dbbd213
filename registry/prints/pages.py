"""Draws a `Document`: head, parts, foot with page n of m."""

import io

from registry.prints.document import Alert, Banner, ByHand, Document, Facts, Map, Notes, Table
from registry.prints.faces import BOLD, CODE, OBLIQUE, REGULAR, first_lines, fit_code, fit_line, text_width, wrap
from registry.prints.label_sheets import PAGES
from registry.prints.map_part import draw_map
from registry.prints.pdf import new_canvas
from registry.prints.qr import POINTS_PER_MM, draw_qr, qr_symbol

_MARGIN = 15 * POINTS_PER_MM
_QR_MM = 22
_BODY, _SMALL, _HEADING = 9, 7.5, 11
_HEAD_LEAST = 6.5  # the headings of a table shrink to this before its columns are changed
_LEADING = 1.3
_SCALE_STEP = 0.05
_WHOLE_ROW, _BROKEN_LINES = 0.8, 4  # of a page: a higher row is broken, and begins where so many of its lines fit
_KEPT_ROWS = 2  # rows of a table that stay with its heading and the headings of its columns
_HEAD_LINES, _BANNER_LINES = 4, 8  # more of a title or a banner is cut off behind an ellipsis
_LABEL_SHARE = 0.32
_GAP = 8  # between columns
_FACES = {"": REGULAR, "code": CODE, "latin": OBLIQUE}


def draw_document(document: Document, page: str = "letter") -> bytes:
    """The PDF of a document.

    Parameters
    ----------
    document : Document
    page : str
        "letter" or "a4".

    Raises
    ------
    PrintError
        When its code fits no QR code.
    """
    target = io.BytesIO()
    canvas = new_canvas(target, PAGES[page], document.title, document.made_on)
    size = tuple(side * POINTS_PER_MM for side in PAGES[page])
    for copy in document.copies:
        flow, scale = _laid_out(document, copy, size)
        for number, strokes in enumerate(flow.pages, start=1):
            _draw_draft(canvas, document.draft, size)
            canvas.saveState()
            canvas.scale(scale, scale)
            for stroke in strokes:
                stroke(canvas)
            canvas.restoreState()
            _draw_foot(canvas, document, copy, size, document.page_words % {"number": number, "count": len(flow.pages)})
            canvas.showPage()
    canvas.save()
    return target.getvalue()


def _laid_out(document, copy, size):
    """(the filled pages, the scale they are drawn in): smaller only where that saves all pages but one."""
    flow = _filled(document, copy, size)
    scale = 1.0
    while len(flow.pages) > 1 and (scale := round(scale - _SCALE_STEP, 2)) >= document.least_scale:
        smaller = _filled(document, copy, tuple(side / scale for side in size))
        if len(smaller.pages) == 1:
            return smaller, scale
    return flow, 1


def _filled(document, copy, size):
    flow = _Flow(document, copy, size)
    for part in document.parts:
        _DRAW[type(part)](flow, part)
    return flow


def _draw_draft(canvas, words, size):
    """The watermark and the line at the head of every page of a draft."""
    if not words:
        return
    width, height = size
    canvas.saveState()
    canvas.setFillGray(0.91)
    canvas.setFont(BOLD, 130)
    canvas.translate(width / 2, height / 2)
    canvas.rotate(52)
    canvas.drawCentredString(0, -45, "DRAFT")
    canvas.restoreState()
    canvas.setFillGray(0)
    canvas.rect(_MARGIN, height - _MARGIN - 4, width - 2 * _MARGIN, 15, stroke=0, fill=1)
    text, letters = fit_line(words, BOLD, 9.5, 5, width - 2 * _MARGIN - 8)
    canvas.setFillGray(1)
    canvas.setFont(BOLD, letters)
    canvas.drawString(_MARGIN + 4, height - _MARGIN, text)
    canvas.setFillGray(0)


def _draw_foot(canvas, document, copy, size, pages):
    canvas.setFillGray(0)
    canvas.setFont(REGULAR, _SMALL)
    canvas.drawRightString(size[0] - _MARGIN, _MARGIN - 10, pages)
    words = " · ".join(word for word in ("Mastbook", document.title, copy.lower(), document.made) if word)
    text, letters = fit_line(words, REGULAR, _SMALL, 5, size[0] - 2 * _MARGIN - 70)
    canvas.setFont(REGULAR, letters)
    canvas.drawString(_MARGIN, _MARGIN - 10, text)


class _Flow:
    """Pages being filled from the top: each page is a list of what to draw on it, drawn when all are counted."""

    def __init__(self, document, copy, size):
        self.document, self.copy = document, copy
        self.page_width, self.page_height = size
        self.width = self.page_width - 2 * _MARGIN
        self.pages = []
        self.y = 0
        self.new_page()

    @property
    def bottom(self):
        return _MARGIN + 6

    def new_page(self):
        self.pages.append([])
        self.y = self.page_height - _MARGIN - (14 if self.document.draft else 0)
        self.draw_first_head() if len(self.pages) == 1 else self.draw_next_head()
        self.top = self.y

    def room(self, height):
        """Start a new page unless this much is left on it; a page that is still empty is never left."""
        if self.y - height < self.bottom and self.y < self.top:
            self.new_page()
            return True
        return False

    def stroke(self, name, *args, **fixed):
        self.pages[-1].append(lambda canvas: getattr(canvas, name)(*args, **fixed))

    def text(self, x, text, face=REGULAR, size=_BODY, gray=0, right=False):
        """One line of text whose top is at `y`; the cursor does not move."""
        base = self.y - size
        self.pages[-1].append(lambda canvas: _draw_text(canvas, x, base, text, face, size, gray, right))

    def rule(self, gray=0.75, y=None):
        y = self.y if y is None else y
        self.pages[-1].append(lambda canvas: _draw_rule(canvas, _MARGIN, y, self.width, gray))

    def upright(self, x, top):
        y = self.y
        self.pages[-1].append(lambda canvas: _draw_upright(canvas, x, y, top))

    # -- heads

    def draw_first_head(self):
        document, start = self.document, self.y
        width = self.width
        if document.scan:
            symbol = qr_symbol(document.scan, _QR_MM)
            side = symbol.side_mm * POINTS_PER_MM
            left, bottom = self.page_width - _MARGIN - side, self.y - side
            self.pages[-1].append(lambda canvas: draw_qr(canvas, symbol, left, bottom))
            width -= side + _GAP
        if self.copy:
            self.text(_MARGIN, self.copy, BOLD, 10)
            self.y -= 15
        for line in first_lines(wrap(document.title, BOLD, 17, width - 30), _HEAD_LINES):
            self.text(_MARGIN, line, BOLD, 17)
            self.y -= 17 * 1.25
        if document.code:
            lines, size = fit_code(document.code, 14, 9, width, 60)
            for line in lines:
                self.text(_MARGIN, line, CODE, size)
                self.y -= size * _LEADING
        for line in first_lines(wrap(document.subtitle, REGULAR, _BODY, width - 15), _HEAD_LINES) if document.subtitle else ():
            self.text(_MARGIN, line, REGULAR, _BODY, gray=0.25)
            self.y -= _BODY * _LEADING
        if document.scan:
            self.y = min(self.y, start - side)
        self.y -= 4
        self.rule(gray=0)
        self.y -= 8

    def draw_next_head(self):
        words = " · ".join(word for word in (self.copy, self.document.title, self.document.code) if word)
        text, size = fit_line(words, BOLD, _BODY, 5, self.width)
        self.text(_MARGIN, text, BOLD, size)
        self.y -= _BODY + 4
        self.rule(gray=0)
        self.y -= 8

    # -- rows of cells

    def heading(self, title, keep=30):
        """The heading of a part, where it has one, on a page with room for what stays with it."""
        lines = first_lines(wrap(title, BOLD, _HEADING, self.width - 20), _HEAD_LINES) if title else []
        if title:
            self.y -= 6
            keep += len(lines) * _HEADING * _LEADING + 2
        self.room(min(keep, self.top - self.bottom))
        for line in lines:
            self.text(_MARGIN, line, BOLD, _HEADING)
            self.y -= _HEADING * _LEADING
        if title:
            self.y -= 2

    def lines(self, text, face=REGULAR, size=_BODY, gray=0, left=_MARGIN, width=None):
        for line in wrap(text, face, size, width or self.width):
            self.room(size * _LEADING)
            self.text(left, line, face, size, gray)
            self.y -= size * _LEADING

    def row_height(self, lines, leading, least=0):
        """What must be left on a page to begin a row on it: its height, or a few lines of one that is broken anyway."""
        height = max(lines * leading + 3, least) + 1
        return height if height < _WHOLE_ROW * (self.top - self.bottom) else _BROKEN_LINES * leading

    def row(self, cells, head=None, least=0):
        """A row of cells (x, width, text, face, size, gray, align), with a rule under it; boxes to write in where it has a least height.

        It stays on one page; only a row nearly as high as a page is broken. `head()` is drawn again on a new page.
        """
        cells = [(x, width, wrap(text, face, size, width), face, size, gray, align) for x, width, text, face, size, gray, align in cells]
        leading = max(size for *_rest, size, _gray, _align in cells) * _LEADING
        count = max(len(lines) for _x, _width, lines, *_rest in cells)
        if self.room(self.row_height(count, leading, least)) and head:
            head()
        start = self.y
        self.y -= 1.5
        for number in range(count):
            if self.room(leading) and head:
                head()
            for x, width, lines, face, size, gray, align in cells:
                if number < len(lines):
                    right = align == "right"
                    self.text(x + width if right else x, lines[number], face, size, gray, right)
            self.y -= leading
        self.y -= 1.5
        if least:
            self.y = min(self.y, start - least)
            for x, *_ in cells[1:]:
                self.upright(x - _GAP / 2, start)
        self.rule()


def _draw_text(canvas, x, y, text, face, size, gray, right):
    canvas.setFillGray(gray)
    canvas.setFont(face, size)
    (canvas.drawRightString if right else canvas.drawString)(x, y, text)


def _draw_rule(canvas, x, y, width, gray):
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(gray)
    canvas.line(x, y, x + width, y)


def _draw_upright(canvas, x, bottom, top):
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(0.75)
    canvas.line(x, bottom, x, top)


def _facts(flow, part: Facts):
    flow.heading(part.title)
    if part.note:
        flow.lines(part.note, size=8, gray=0.25)
    side = (flow.width - _GAP * 2 * (part.columns - 1)) / part.columns
    label_width = side * _LABEL_SHARE
    for start in range(0, len(part.rows), part.columns):
        cells = []
        for number, (label, value) in enumerate(part.rows[start : start + part.columns]):
            left = _MARGIN + number * (side + _GAP * 2)
            text, face, gray = (value, REGULAR, 0) if value else (part.blank, OBLIQUE, 0.35)
            cells.append((left, label_width, label, BOLD, 8, 0.15, "left"))
            cells.append((left + label_width + _GAP, side - label_width - _GAP, text, face, _BODY, gray, "left"))
        flow.row(cells)
    flow.y -= 4


def _table(flow, part: Table):
    widths, letters = _column_widths(part.columns, flow.width - _GAP * (len(part.columns) - 1))
    keep = _height_to_keep(flow, part, widths, letters)
    flow.heading(part.title, keep)
    if part.note:
        flow.lines(part.note, size=8, gray=0.25)
    if not part.rows:
        flow.lines(part.empty or "Nothing recorded.", face=OBLIQUE, gray=0.25)
        flow.y -= 4
        return
    places, x = [], _MARGIN
    for width in widths:
        places.append((x, width))
        x += width + _GAP

    def head():
        flow.row(
            [(x, width, column.label, BOLD, letters, 0.15, column.align) for (x, width), column in zip(places, part.columns, strict=True)]
        )  # fmt: skip

    head()
    for row in part.rows:
        flow.row(
            [
                (x, width, text, _FACES[column.face], _SMALL + (0 if column.face == "code" else 0.5), 0, column.align)
                for (x, width), column, text in zip(places, part.columns, row, strict=True)
            ],
            head,
            part.write_mm * POINTS_PER_MM,
        )
    flow.y -= 4


def _height_to_keep(flow, part, widths, letters):
    """What stays on one page with the heading of a table: its note, the headings of its columns and its first rows."""
    note = len(wrap(part.note, REGULAR, 8, flow.width)) * 8 * _LEADING if part.note else 0
    if not part.rows:
        return note + _BODY * _LEADING
    head = max(len(wrap(column.label, BOLD, letters, width)) for width, column in zip(widths, part.columns, strict=True))
    heights = [flow.row_height(head, letters * _LEADING)]
    sizes = [_SMALL + (0 if column.face == "code" else 0.5) for column in part.columns]
    for row in part.rows[:_KEPT_ROWS]:
        lines = [
            len(wrap(text, _FACES[column.face], size, width))
            for width, column, size, text in zip(widths, part.columns, sizes, row, strict=True)
        ]
        heights.append(flow.row_height(max(lines), max(sizes) * _LEADING, part.write_mm * POINTS_PER_MM))
    return note + sum(heights)


def _column_widths(columns, usable):
    """Widths by weight, and a size of letters, with which no word of a heading is broken.

    The headings shrink a little first; where that is not enough, the columns with room to spare give some of it.
    """
    total = sum(column.weight for column in columns)
    widths = [usable * column.weight / total for column in columns]
    words = [max(text_width(word, BOLD, 1) for word in column.label.split(" ")) * 1.001 for column in columns]
    fits = min((width / word for width, word in zip(widths, words, strict=True) if word), default=_SMALL)
    letters = min(_SMALL, max(fits, _HEAD_LEAST))
    short = [max(0, word * letters - width) for width, word in zip(widths, words, strict=True)]
    spare = [max(0, width - word * letters) for width, word in zip(widths, words, strict=True)]
    if not sum(short):
        return widths, letters
    given = min(1, sum(short) / sum(spare)) if sum(spare) else 0
    taken = given * sum(spare) / sum(short)
    return [width - given * more + taken * less for width, more, less in zip(widths, spare, short, strict=True)], letters


def _alert(flow, part: Alert):
    lines = [line for text in part.lines for line in wrap(text, REGULAR, _BODY, flow.width - 12)]
    flow.room(20 + len(lines[:8]) * _BODY * _LEADING)
    flow.y -= 2
    titles = first_lines(wrap(part.title, BOLD, 11, flow.width - 20), _HEAD_LINES)
    height = len(titles) * 14 + 4
    flow.stroke("setFillGray", 0)
    flow.stroke("rect", _MARGIN, flow.y - height, flow.width, height, stroke=0, fill=1)
    flow.y -= 3
    for title in titles:
        flow.text(_MARGIN + 4, title, BOLD, 11, gray=1)
        flow.y -= 14
    flow.y -= 5
    for line in lines:
        flow.room(_BODY * _LEADING)
        flow.text(_MARGIN + 6, line)
        flow.y -= _BODY * _LEADING
    flow.y -= 5


def _banner(flow, part: Banner):
    size = 15
    lines = first_lines(wrap(part.text, BOLD, size, flow.width - 34), _BANNER_LINES)
    height = len(lines) * size * 1.25 + 10
    flow.room(height + 6)
    flow.stroke("setStrokeGray", 0)
    flow.stroke("setLineWidth", 1.6)
    flow.stroke("rect", _MARGIN, flow.y - height, flow.width, height, stroke=1, fill=0)
    flow.y -= 5
    for line in lines:
        flow.text(_MARGIN + (flow.width - text_width(line, BOLD, size)) / 2, line, BOLD, size)
        flow.y -= size * 1.25
    flow.y -= 11


def _notes(flow, part: Notes):
    flow.heading(part.title, keep=20)
    for line in part.lines:
        flow.lines(line)
    flow.y -= 4


def _by_hand(flow, part: ByHand):
    height = 26
    for label in part.labels:
        flow.room(height)
        flow.y -= height - 10
        flow.text(_MARGIN, label, REGULAR, 8, gray=0.15)
        start, end, base = _MARGIN + flow.width * _LABEL_SHARE, _MARGIN + flow.width, flow.y - 9
        flow.stroke("setStrokeGray", 0.3)
        flow.stroke("line", start, base, end, base)
        flow.y -= 10
    flow.y -= 4


def _map(flow, part: Map):
    draw_map(flow, part, _MARGIN)


_DRAW = {Facts: _facts, Table: _table, Alert: _alert, Banner: _banner, Notes: _notes, ByHand: _by_hand, Map: _map}
