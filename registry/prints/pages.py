"""Draws a `Document`: head, parts, foot with page n of m."""

import io
from collections.abc import Sequence
from dataclasses import dataclass

from registry.prints.document import Alert, Banner, ByHand, Document, Facts, Map, Notes, PageMark, Picture, Plan, Table
from registry.prints.faces import BOLD, CODE, OBLIQUE, REGULAR, first_lines, fit_line, text_width, wrap
from registry.prints.flow import BODY, GAP, HEAD_LINES, LEADING, MARGIN, MARK_FOOT, MARK_MM, SMALL, Flow
from registry.prints.label_sheets import PAGES
from registry.prints.map_part import draw_map
from registry.prints.pdf import new_canvas
from registry.prints.picture_part import draw_picture
from registry.prints.plan_part import draw_plan
from registry.prints.qr import POINTS_PER_MM, draw_qr, qr_symbol
from registry.prints.tables import draw_table

_SCALE_STEP = 0.05
_BANNER_LINES = 8  # more of a banner is cut off behind an ellipsis
_LABEL_SHARE = 0.32


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A document whose pages, of a size of `PAGES`, are filled and not drawn yet; copies are (word, filled pages, scale)."""

    document: Document
    page: str
    copies: tuple

    @property
    def page_keys(self) -> tuple[tuple[int, ...], ...]:
        """The keys of the rows on each page, those of all copies one after the other."""
        return tuple(tuple(keys) for _copy, flow, _scale in self.copies for keys in flow.keys)

    def draw(self, marks: Sequence[PageMark] = ()) -> bytes:
        """The PDF; `marks`, where given, are one for each page.

        Raises
        ------
        PrintError
            When a code fits no QR code.
        """
        document, size = self.document, _size(self.page)
        target = io.BytesIO()
        canvas = new_canvas(target, PAGES[self.page], document.title, document.made_on)
        left = iter(marks)
        for copy, flow, scale in self.copies:
            for number, strokes in enumerate(flow.pages, start=1):
                _draw_draft(canvas, document.draft, size)
                canvas.saveState()
                canvas.scale(scale, scale)
                for stroke in strokes:
                    stroke(canvas)
                canvas.restoreState()
                start = _draw_mark(canvas, next(left)) if marks else MARGIN
                _draw_foot(canvas, document, copy, size, document.page_words % {"number": number, "count": len(flow.pages)}, start)
                canvas.showPage()
        canvas.save()
        return target.getvalue()


def lay_out(document: Document, page: str = "letter") -> LaidOut:
    """A document on pages of a size, "letter" or "a4".

    Raises
    ------
    PrintError
        When its code fits no QR code.
    """
    return LaidOut(document, page, tuple((copy, *_laid_out(document, copy, _size(page))) for copy in document.copies))


def draw_document(document: Document, page: str = "letter") -> bytes:
    """The PDF of a document on pages of a size, "letter" or "a4".

    Raises
    ------
    PrintError
        When its code fits no QR code.
    """
    return lay_out(document, page).draw()


def _size(page):
    """The sides of a page in points."""
    return tuple(side * POINTS_PER_MM for side in PAGES[page])


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
    flow = Flow(document, copy, size)
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
    canvas.rect(MARGIN, height - MARGIN - 4, width - 2 * MARGIN, 15, stroke=0, fill=1)
    text, letters = fit_line(words, BOLD, 9.5, 5, width - 2 * MARGIN - 8)
    canvas.setFillGray(1)
    canvas.setFont(BOLD, letters)
    canvas.drawString(MARGIN + 4, height - MARGIN, text)
    canvas.setFillGray(0)


def _draw_mark(canvas, mark):
    """The QR code of a page and its code at the foot. Returns where the words of the foot begin."""
    symbol = qr_symbol(mark.scan, MARK_MM)
    draw_qr(canvas, symbol, MARGIN, MARK_FOOT)
    left = MARGIN + symbol.side_mm * POINTS_PER_MM + GAP
    canvas.setFillGray(0)
    canvas.setFont(CODE, 11)
    canvas.drawString(left, MARGIN + 13, mark.code)
    canvas.setFont(REGULAR, SMALL)
    canvas.drawString(left, MARGIN + 2, mark.words)
    return left


def _draw_foot(canvas, document, copy, size, pages, left):
    canvas.setFillGray(0)
    canvas.setFont(REGULAR, SMALL)
    canvas.drawRightString(size[0] - MARGIN, MARGIN - 10, pages)
    words = " · ".join(word for word in ("Mastbook", document.title, copy.lower(), document.made) if word)
    text, letters = fit_line(words, REGULAR, SMALL, 5, size[0] - left - MARGIN - 70)
    canvas.setFont(REGULAR, letters)
    canvas.drawString(left, MARGIN - 10, text)


def _facts(flow, part: Facts):
    flow.heading(part.title)
    if part.note:
        flow.lines(part.note, size=8, gray=0.25)
    side = (flow.width - GAP * 2 * (part.columns - 1)) / part.columns
    label_width = side * part.label_share
    for start in range(0, len(part.rows), part.columns):
        cells = []
        for number, (label, value) in enumerate(part.rows[start : start + part.columns]):
            left = MARGIN + number * (side + GAP * 2)
            text, face, gray = (value, REGULAR, 0) if value else (part.blank, OBLIQUE, 0.35)
            cells.append((left, label_width, label, BOLD, 8, 0.15, "left"))
            cells.append((left + label_width + GAP, side - label_width - GAP, text, face, BODY, gray, "left"))
        flow.row(cells)
    flow.y -= 4


def _alert(flow, part: Alert):
    lines = [line for text in part.lines for line in wrap(text, REGULAR, BODY, flow.width - 12)]
    flow.room(20 + len(lines[:8]) * BODY * LEADING)
    flow.y -= 2
    titles = first_lines(wrap(part.title, BOLD, 11, flow.width - 20), HEAD_LINES)
    height = len(titles) * 14 + 4
    flow.stroke("setFillGray", 0)
    flow.stroke("rect", MARGIN, flow.y - height, flow.width, height, stroke=0, fill=1)
    flow.y -= 3
    for title in titles:
        flow.text(MARGIN + 4, title, BOLD, 11, gray=1)
        flow.y -= 14
    flow.y -= 5
    for line in lines:
        flow.room(BODY * LEADING)
        flow.text(MARGIN + 6, line)
        flow.y -= BODY * LEADING
    flow.y -= 5


def _banner(flow, part: Banner):
    size = 15
    lines = first_lines(wrap(part.text, BOLD, size, flow.width - 34), _BANNER_LINES)
    height = len(lines) * size * 1.25 + 10
    flow.room(height + 6)
    flow.stroke("setStrokeGray", 0)
    flow.stroke("setLineWidth", 1.6)
    flow.stroke("rect", MARGIN, flow.y - height, flow.width, height, stroke=1, fill=0)
    flow.y -= 5
    for line in lines:
        flow.text(MARGIN + (flow.width - text_width(line, BOLD, size)) / 2, line, BOLD, size)
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
        flow.text(MARGIN, label, REGULAR, 8, gray=0.15)
        start = MARGIN + max(flow.width * _LABEL_SHARE, text_width(label, REGULAR, 8) + GAP)  # no line through the words of a long label
        end, base = MARGIN + flow.width, flow.y - 9
        flow.stroke("setStrokeGray", 0.3)
        flow.stroke("line", start, base, end, base)
        flow.y -= 10
    flow.y -= 4


def _map(flow, part: Map):
    draw_map(flow, part, MARGIN)


def _plan(flow, part: Plan):
    draw_plan(flow, part, MARGIN)


def _picture(flow, part: Picture):
    draw_picture(flow, part)


_DRAW = {
    Facts: _facts, Table: draw_table, Alert: _alert, Banner: _banner, Notes: _notes, ByHand: _by_hand, Map: _map, Plan: _plan,
    Picture: _picture,
}  # fmt: skip
