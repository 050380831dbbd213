"""Pages being filled from the top: running heads, lines, rows of cells. `pages` draws what is filled in here."""

from registry.prints.faces import BOLD, CODE, REGULAR, first_lines, fit_code, fit_line, wrap
from registry.prints.qr import POINTS_PER_MM, draw_qr, qr_symbol

__all__ = ["BODY", "GAP", "HEAD_LINES", "LEADING", "MARGIN", "MARK_FOOT", "MARK_MM", "SMALL", "Flow"]

MARGIN = 15 * POINTS_PER_MM
BODY, SMALL, _HEADING = 9, 7.5, 11  # sizes of letters
LEADING = 1.3
GAP = 8  # between columns
HEAD_LINES = 4  # more of a title is cut off behind an ellipsis
_QR_MM = 22
MARK_MM = 18  # side of the QR code at the foot
MARK_FOOT = 6 * POINTS_PER_MM  # below it: most printers leave 4 to 6 mm blank (common practice, no source)
_WHOLE_ROW, _BROKEN_LINES = 0.8, 4  # of a page: a higher row is broken, and begins where so many of its lines fit


class Flow:
    """Pages being filled from the top: each page is a list of what to draw on it, drawn when all are counted."""

    def __init__(self, document, copy, size):
        self.document, self.copy = document, copy
        self.page_width, self.page_height = size
        self.width = self.page_width - 2 * MARGIN
        self.pages = []
        self.keys = []  # of the rows on each page
        self.y = 0
        self.new_page()

    @property
    def bottom(self):
        return MARK_MM * POINTS_PER_MM + MARK_FOOT + 4 if self.document.marked else MARGIN + 6

    def new_page(self):
        self.pages.append([])
        self.keys.append([])
        self.y = self.page_height - MARGIN - (14 if self.document.draft else 0)
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

    def text(self, x, text, face=REGULAR, size=BODY, gray=0, right=False):
        """One line of text whose top is at `y`; the cursor does not move."""
        base = self.y - size
        self.pages[-1].append(lambda canvas: _draw_text(canvas, x, base, text, face, size, gray, right))

    def rule(self, gray=0.75, y=None):
        y = self.y if y is None else y
        self.pages[-1].append(lambda canvas: _draw_rule(canvas, MARGIN, y, self.width, gray))

    def uprights(self, places, top):
        lines = [(x, self.y, x, top) for x in places]
        self.pages[-1].append(lambda canvas: _draw_uprights(canvas, lines))

    # -- heads

    def draw_first_head(self):
        document, start = self.document, self.y
        width = self.width
        if document.scan:
            symbol = qr_symbol(document.scan, _QR_MM)
            side = symbol.side_mm * POINTS_PER_MM
            left, bottom = self.page_width - MARGIN - side, self.y - side
            self.pages[-1].append(lambda canvas: draw_qr(canvas, symbol, left, bottom))
            width -= side + GAP
        if self.copy:
            self.text(MARGIN, self.copy, BOLD, 10)
            self.y -= 15
        # the code has a line of its own, in its own face
        title = document.title.removesuffix(document.code).rstrip(" ,:·") or document.title
        for line in first_lines(wrap(title, BOLD, 17, width - 30), HEAD_LINES):
            self.text(MARGIN, line, BOLD, 17)
            self.y -= 17 * 1.25
        if document.code:
            lines, size = fit_code(document.code, 14, 9, width, 60)
            for line in lines:
                self.text(MARGIN, line, CODE, size)
                self.y -= size * LEADING
        for line in first_lines(wrap(document.subtitle, REGULAR, BODY, width - 15), HEAD_LINES) if document.subtitle else ():
            self.text(MARGIN, line, REGULAR, BODY, gray=0.25)
            self.y -= BODY * LEADING
        if document.scan:
            self.y = min(self.y, start - side)
        self.y -= 4
        self.rule(gray=0)
        self.y -= 8

    def draw_next_head(self):
        document = self.document
        code = "" if document.code in document.title else document.code
        words = " · ".join(word for word in (self.copy, document.title, code) if word)
        text, size = fit_line(words, BOLD, BODY, 5, self.width)
        self.text(MARGIN, text, BOLD, size)
        self.y -= BODY + 4
        self.rule(gray=0)
        self.y -= 8

    # -- rows of cells

    def heading(self, title, keep=30):
        """The heading of a part, where it has one, on a page with room for what stays with it."""
        lines = first_lines(wrap(title, BOLD, _HEADING, self.width - 20), HEAD_LINES) if title else []
        if title:
            self.y -= 6
            keep += len(lines) * _HEADING * LEADING + 2
        self.room(min(keep, self.top - self.bottom))
        for line in lines:
            self.text(MARGIN, line, BOLD, _HEADING)
            self.y -= _HEADING * LEADING
        if title:
            self.y -= 2

    def lines(self, text, face=REGULAR, size=BODY, gray=0, left=MARGIN, width=None):
        for line in wrap(text, face, size, width or self.width):
            self.room(size * LEADING)
            self.text(left, line, face, size, gray)
            self.y -= size * LEADING

    def row_height(self, lines, leading, least=0):
        """What must be left on a page to begin a row on it: its height, or a few lines of one that is broken anyway."""
        height = max(lines * leading + 3, least) + 1
        return height if height < _WHOLE_ROW * (self.top - self.bottom) else _BROKEN_LINES * leading

    def row(self, cells, head=None, least=0):
        """A row of cells (x, width, text, face, size, gray, align), with a rule under it; boxes to write in where it has a least height.

        It stays on one page; only a row nearly as high as a page is broken. `head()` is drawn again on a new page.
        """
        cells = [(x, width, wrap(text, face, size, width), face, size, gray, align) for x, width, text, face, size, gray, align in cells]
        leading = max(size for *_rest, size, _gray, _align in cells) * LEADING
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
            self.uprights([x - GAP / 2 for x, *_ in cells[1:]], start)
        self.rule()


def _draw_text(canvas, x, y, text, face, size, gray, right):
    canvas.setFillGray(gray)
    canvas.setFont(face, size)
    (canvas.drawRightString if right else canvas.drawString)(x, y, text)


def _draw_rule(canvas, x, y, width, gray):
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(gray)
    canvas.line(x, y, x + width, y)


def _draw_uprights(canvas, lines):
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(0.75)
    canvas.lines(lines)
