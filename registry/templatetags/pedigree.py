"""Drawn parts of the pedigree: the tree of ancestors, and a bar of shares. Each has its words beside it."""

from dataclasses import dataclass

from django import template
from django.urls import reverse
from django.utils.html import format_html

from registry.calc.pedigree.drawing import BOX_HEIGHT, BOX_WIDTH, Box, draw_pedigree
from registry.selectors.pedigree.picture import GENERATIONS_SHOWN, PictureLabel

register = template.Library()

_CODE_MAX = 17
_NOTE_MAX = 23
_ELBOW = 14
_PLAIN_MAX = 1_024
_INKS = 4
_LETTERED_FROM = 0.05  # narrower pieces of a bar have no room for their letter


@dataclass(frozen=True, slots=True)
class DrawnBox:
    box: Box
    label: PictureLabel
    url: str

    @property
    def code(self):
        return shortened(self.label.code, _CODE_MAX)

    @property
    def note(self):
        return shortened(self.full_note, _NOTE_MAX)

    @property
    def full_note(self):
        return ", ".join(part for part in (self.box.role, "again" if self.box.again else self.label.note or self.label.species) if part)

    @property
    def words(self):
        """All of it in words, for a reader that does not see the drawing. They begin as the box does, for who steers by voice."""
        again = "again, shown elsewhere too" if self.box.again else ""
        cut = "earlier ancestors not shown" if self.box.cut else ""
        parts = [self.box.role, again, self.label.note, self.label.species, cut]
        return " ".join(filter(None, [self.label.code, ", ".join(filter(None, parts))]))

    @property
    def centre_y(self):
        return self.box.y + BOX_HEIGHT / 2

    @property
    def right_x(self):
        return self.box.x + BOX_WIDTH + 4

    @property
    def text_x(self):
        return self.box.x + 8

    @property
    def code_y(self):
        return self.box.y + 18

    @property
    def note_y(self):
        return self.box.y + 35


def shortened(text, most):
    return text if len(text) <= most else f"{text[: most - 1]}…"


@register.inclusion_tag("partials/pedigree/_pedigree.html")
def pedigree_drawing(picture, title):
    """A Picture as a drawing, and the same as a nested list."""
    drawing = draw_pedigree(picture.parents, picture.start, GENERATIONS_SHOWN)
    boxes = []
    for box in drawing.boxes:
        label = picture.labels[box.name]
        boxes.append(DrawnBox(box, label, reverse(label.route, args=[label.pk])))
    lines = [(x1, y1, x1 + _ELBOW, x2, y2) for x1, y1, x2, y2 in drawing.lines]
    return {
        "title": title, "boxes": boxes, "lines": lines, "drawing": drawing, "box_width": BOX_WIDTH, "box_height": BOX_HEIGHT,
        "list": _nested(boxes, 0), "generations": GENERATIONS_SHOWN, "again": any(box.again for box in drawing.boxes),
    }  # fmt: skip


def _nested(boxes, place):
    """As Django's `unordered_list` takes it. Never deeper than the generations shown."""
    drawn = boxes[place]
    item = format_html('<a href="{}">{}</a>', drawn.url, drawn.words)
    below = [part for parent in drawn.box.parents for part in _nested(boxes, parent)]
    return [item, below] if below else [item]


@register.inclusion_tag("partials/pedigree/_share_bar.html")
def share_bar(shares):
    """[(name, share)] as one bar, each piece with a letter that its words repeat."""
    pieces, at = [], 0.0
    for number, (name, share) in enumerate(shares):
        width = 100 * float(share)
        letter = chr(ord("A") + number) if number < 26 else ""
        pieces.append({
            "name": name, "share": share, "letter": letter, "ink": number % _INKS, "x": f"{at:.3f}%", "width": f"{width:.3f}%",
            "middle": f"{at + width / 2:.3f}%" if width >= 100 * _LETTERED_FROM else "",
        })  # fmt: skip
        at += width
    return {"pieces": pieces}


@register.filter
def as_share(share):
    """“15/16 (0.9375)”: the exact share, and the same as a decimal; long fractions as a decimal only."""
    plain = share.denominator <= _PLAIN_MAX
    decimal = f"{float(share):.{5 if plain else 4}f}".rstrip("0").rstrip(".") or "0"
    return f"{share} ({decimal})" if plain and share.denominator > 1 else decimal
