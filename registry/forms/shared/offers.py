"""What a box for a code offers while somebody types: rows of its own choices, so of the person's own."""

from django.db.models import Q

from registry.choices import LotKind
from registry.forms.shared.fields import CodeField
from registry.models import Lot, PedigreeTree

__all__ = ["offers"]

OFFERS_MOST = 10
# where a name to search by is, beside the code, in the models whose records people call by name
_NAMES = ("name", "title", "common_name")


def offers(form, name, text):
    """{"offers": [{"code", "words"}], "more"}: what fits `text` in the box called `name`; None when the form has no such box for a code.

    Codes that begin with the text come first, then codes and names that hold it. The rows are those the form would accept: its
    choices must have been limited to the person before.
    """
    field = next((box.field for box in form if box.html_name == name), None)
    if hasattr(field, "offered"):
        found = field.offered(text) if text else []
        return {"offers": [{"code": code, "words": words} for code, words in found[:OFFERS_MOST]], "more": len(found) > OFFERS_MOST}
    if not isinstance(field, CodeField):
        return None
    rows = field.queryset.order_by("code").select_related(*_TOGETHER.get(field.queryset.model, ()))
    begins = Q(code__istartswith=text)
    anywhere = Q(code__icontains=text)
    for place in _names(field):
        anywhere |= Q(**{f"{place}__icontains": text})
    found = [*rows.filter(begins)[: OFFERS_MOST + 1]] if text else []
    if text and len(found) <= OFFERS_MOST:
        found += rows.filter(anywhere & ~begins)[: OFFERS_MOST + 1 - len(found)]
    lines = [{"code": row.code, "words": _words(field, row)} for row in found]
    return {"offers": lines[:OFFERS_MOST], "more": len(lines) > OFFERS_MOST}


def _names(field):
    own = {item.name for item in field.queryset.model._meta.get_fields()}
    return [*(name for name in _NAMES if name in own), *field.search]


def _words(field, row):
    """The code, and what the record is: in the words of the box, or else in words of its kind. Without any, the code alone."""
    words = field.label_from_instance(row)
    if words == row.code:
        words = _DESCRIBED[type(row)](row) if type(row) in _DESCRIBED else ""
    return words if row.code in words else " · ".join(filter(None, [row.code, words]))


def _lot_words(lot):
    """Kind, year, and its mother or where else it came from: "seed lot, 2025, mother SL-S-02"."""
    came_from = f"mother {lot.mother.code}" if lot.mother else lot.outside_origin or lot.get_origin_display()
    return _listed("seed lot" if lot.kind == LotKind.SEED else "stock lot", lot.year, came_from)


def _tree_words(tree):
    """Generation and place: "BC2, Orchard, block A"."""
    return _listed(tree.generation_code, tree.orchard, tree.block and f"block {tree.block}")


def _listed(*parts):
    return ", ".join(str(part) for part in parts if part)


_TOGETHER = {Lot: ("mother",)}
_DESCRIBED = {Lot: _lot_words, PedigreeTree: _tree_words}
