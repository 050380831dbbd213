"""The pictures of a report: those of the pages of results, put together for paper."""

from plantings.views.survival.lineage_picture import AXIS, ROW, lineage_picture
from registry.calc.shared.shapes import Line, Picture, Words, placed
from registry.prints.document import Drawing

__all__ = ["lineage_drawing"]

_NAMES, _SCALE, _FIGURES, _SMALLER, _HEAD = 180, 310, 170, 0.72, 14


def lineage_drawing(comparison, title, note):
    """All lineages on one scale: names to the left, differences from the native check to the right, or survival where there is none."""
    found = lineage_picture(comparison)
    high = ROW * _SMALLER
    bottom = _HEAD + AXIS + high * len(found["rows"])
    shapes = [
        *placed(found["axis"].shapes, _NAMES, _HEAD, _SCALE / 100),
    ]
    if found["native"] is not None:
        shapes.append(Words("label", round(_NAMES + found["native"] / 100 * _SCALE, 1), _HEAD - 4, "native check", "middle"))
    for number, row in enumerate(found["rows"]):
        top = _HEAD + AXIS + high * number
        shapes += placed(row.picture.shapes, _NAMES, top, _SCALE / 100, _SMALLER)
        shapes += [Words("name", _NAMES - 10, top + 14, row.label, "end"), Words("name", _NAMES + _SCALE + 10, top + 14, row.figure)]
        shapes.append(Line("grid", 0, round(top + high, 1), _NAMES + _SCALE + _FIGURES, round(top + high, 1)))
    if found["donor"] is not None:
        shapes.append(Words("label", round(_NAMES + found["donor"] / 100 * _SCALE, 1), bottom + 13, "donor check", "middle"))
    words = " ".join(row.sentence for row in found["rows"])
    return Drawing(title, Picture(_NAMES + _SCALE + _FIGURES, round(bottom + 18, 1), tuple(shapes)), words, note)
