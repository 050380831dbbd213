"""Container labels and planting tags on sheets of labels."""

import datetime
import io
from dataclasses import dataclass, replace

from registry.prints.faces import BOLD, CODE, LEADING, OBLIQUE, REGULAR, fit_code, fit_line, printable, text_width
from registry.prints.label_sheets import PAGES, LabelSheet, label_box, label_places
from registry.prints.pdf import new_canvas
from registry.prints.qr import POINTS_PER_MM, PrintError, draw_qr, qr_symbol

INSIDE, OUTSIDE = "INSIDE", "OUTSIDE"
_EDGE_MM = 1.6  # white at the edge of a label: sheets never run quite straight
_QR_MAX_MM = 38
_SCALED_MM = 30  # labels higher than this have larger letters, up to 1.6 times as large
_CODE_SIZE, _CODE_ENOUGH, _CODE_LEAST = 15, 9, 5
_CODE_SHARE, _CODE_ROOM = 0.62, 15  # of the height, at most, where other text follows; what is left of that at least
_LINE_SIZE, _LINE_LEAST, _LINE_LEADING = 8.5, 5.5, 1.1
_MARK_SIZE = 7


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says.

    `code` in readable letters; `scan` the texts its QR code may hold, the best first; `mark` and `number` in the
    head line; `title` in slanted letters; `lines` in order of importance; `alerts` in white on black, a bar each.
    """

    code: str
    scan: tuple[str, ...]
    mark: str = ""
    number: str = ""
    title: str = ""
    lines: tuple[str, ...] = ()
    alerts: tuple[str, ...] = ()


def container_labels(label: Label, containers: int) -> list[Label]:
    """Two labels for each container, one to lie in it and one to stick on it, in that order.

    Source: two labels per container, FAO guide to forest seed handling; common practice.

    Examples
    --------
    >>> [(label.mark, label.number) for label in container_labels(Label("A", ("A",)), 2)]
    [('INSIDE', '1 of 2'), ('OUTSIDE', '1 of 2'), ('INSIDE', '2 of 2'), ('OUTSIDE', '2 of 2')]
    """
    return [
        replace(label, mark=mark, number=f"{number} of {containers}") for number in range(1, containers + 1) for mark in (INSIDE, OUTSIDE)
    ]  # fmt: skip


def draw_labels(
    labels: list[Label], sheet: LabelSheet, *, start: int = 1, edges: bool = False, title: str = "Labels", made_on: datetime.date
) -> bytes:
    """A PDF of labels.

    Parameters
    ----------
    labels : list of Label
    sheet : LabelSheet
    start : int
        The first label that is still on the sheet, counted from 1.
    edges : bool
        Draw the edge of every label: for a test print on plain stock, or to cut by hand.
    title : str
        Of the file.
    made_on : date

    Raises
    ------
    PrintError
        When the sheet has no such label, there is nothing to print, or a code fits no label of this size.
    """
    if not labels:
        raise PrintError("There are no labels to print.")
    try:
        places = label_places(sheet, len(labels), start)
    except ValueError as error:
        raise PrintError(str(error)) from error
    width_mm, height_mm = PAGES[sheet.page]
    target = io.BytesIO()
    canvas = new_canvas(target, (width_mm, height_mm), title, made_on)
    page_before = 0
    for label, (page, place) in zip(labels, places, strict=True):
        if page != page_before:
            canvas.showPage()
            page_before = page
        box = label_box(sheet, place)
        canvas.saveState()
        canvas.translate(box.left * POINTS_PER_MM, (height_mm - box.bottom) * POINTS_PER_MM)
        if edges:
            canvas.setLineWidth(0.3)
            canvas.setStrokeGray(0.6)
            canvas.rect(0, 0, box.width * POINTS_PER_MM, box.height * POINTS_PER_MM)
        _draw_label(canvas, label, box.width, box.height)
        canvas.restoreState()
    canvas.save()
    return target.getvalue()


def _draw_label(canvas, label, width_mm, height_mm):
    """One label, its lower left corner at 0, 0: the QR code on the left, the text right of it."""
    inner_mm = height_mm - 2 * _EDGE_MM
    symbol = qr_symbol(label.scan, min(inner_mm, _QR_MAX_MM, width_mm * 0.42))
    edge = _EDGE_MM * POINTS_PER_MM
    side = symbol.side_mm * POINTS_PER_MM
    top = height_mm * POINTS_PER_MM - edge
    draw_qr(canvas, symbol, edge / 2, top - side)
    left = edge / 2 + side
    scale = min(max(height_mm / _SCALED_MM, 1), 1.6)
    _Text(canvas, left, edge, width_mm * POINTS_PER_MM - edge - left, top - edge, scale).draw(label)


class _Text:
    """The text of a label, from the top of its place down; what does not fit is left out behind an ellipsis."""

    def __init__(self, canvas, left, bottom, width, height, scale):
        self.canvas, self.left, self.width, self.scale = canvas, left, width, scale
        self.bottom, self.y = bottom, bottom + height
        canvas.setFillGray(0)

    def draw(self, label):
        for alert in reversed(label.alerts):
            self.draw_alert(alert)
        if label.mark or label.number:
            self.draw_head(label.mark, label.number)
        texts = [(OBLIQUE, label.title)] if label.title else []
        texts += [(REGULAR, line) for line in label.lines if line]
        self.draw_code(label.code, lines=len(texts))
        self.draw_lines(texts)

    def draw_alert(self, alert):
        text, size = fit_line(alert, BOLD, 7 * self.scale, _LINE_LEAST, self.width - 4)
        height = size * LEADING + 2
        self.canvas.rect(self.left, self.bottom, self.width, height, stroke=0, fill=1)
        self.canvas.setFillGray(1)
        self.canvas.setFont(BOLD, size)
        self.canvas.drawString(self.left + 2, self.bottom + 2 + size * 0.12, text)
        self.canvas.setFillGray(0)
        self.bottom += height + 1

    def draw_head(self, mark, number):
        mark = printable(mark, BOLD)
        wanted = _MARK_SIZE * self.scale
        height = wanted * LEADING + 1
        base = self.y - wanted - 0.4
        used = 0
        if mark:
            used = text_width(mark, BOLD, wanted) + 5
            self.canvas.rect(self.left, self.y - height, used, height, stroke=0, fill=1)
            self.canvas.setFillGray(1)
            self.canvas.setFont(BOLD, wanted)
            self.canvas.drawString(self.left + 2.5, base, mark)
            self.canvas.setFillGray(0)
        text, size = fit_line(number, REGULAR, wanted, _LINE_LEAST, self.width - used - 3)
        self.canvas.setFont(REGULAR, size)
        self.canvas.drawRightString(self.left + self.width, base, text)
        self.y -= height + 1

    def draw_code(self, code, lines):
        room = self.y - self.bottom
        if lines:  # smaller rather than crowd them out, but never small
            left = room - lines * _LINE_LEAST * _LINE_LEADING
            room = max(min(room * _CODE_SHARE, left), min(_CODE_ROOM * self.scale, room * _CODE_SHARE))
        lines, size = fit_code(code, _CODE_SIZE * self.scale, _CODE_ENOUGH * self.scale, self.width, room)
        if size < _CODE_LEAST:
            raise PrintError(f"The code “{code[:60]}” cannot be read on labels of this size. Take larger labels.")
        self.canvas.setFont(CODE, size)
        for line in lines:
            self.canvas.drawString(self.left, self.y - size * 0.88, line)
            self.y -= size * LEADING

    def draw_lines(self, texts):
        if not texts:
            return
        room = self.y - self.bottom
        size = max(_LINE_LEAST, min(_LINE_SIZE * self.scale, room / len(texts) / _LINE_LEADING))
        shown = texts[: int(room / (size * _LINE_LEADING) + 0.001)]
        for number, (name, text) in enumerate(shown, start=1):
            if number == len(shown) < len(texts):
                text = f"{text} …"
            fitted, fitted_size = fit_line(text, name, size, _LINE_LEAST, self.width)
            self.canvas.setFont(name, fitted_size)
            self.canvas.drawString(self.left, self.y - size * 0.92, fitted)
            self.y -= size * _LINE_LEADING
