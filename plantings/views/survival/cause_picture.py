"""Causes over the years as small multiples: one panel for each cause, all on one scale, with the number over each bar."""

from django.utils.translation import gettext

from registry.calc.shared.shapes import Box, Line, Picture, Words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count
from registry.views.shared.tables import Column, ledger_table

_WIDTH, _HEIGHT, _FLOOR, _TOP, _EDGE = 300, 130, 108, 22, 8
_WIDEST = 34


def cause_panels(over_years):
    """[(words of the cause, trees, Picture)], the commonest cause first."""
    found = over_years.found
    highest = max(found.trees.values(), default=1)
    return [
        (over_years.words.get(cause, cause), local_amount(found.total(cause), "trees"), _panel(found, cause, highest))
        for cause in found.causes
    ]


def _panel(found, cause, highest):
    step = (_WIDTH - 2 * _EDGE) / max(len(found.years), 1)
    width = min(step * 0.7, _WIDEST)
    every = max(1, -(-34 // step) if step < 34 else 1)  # a year takes 34 units; where they are closer not each is named
    shapes = [Line("axis", _EDGE, _FLOOR, _WIDTH - _EDGE, _FLOOR)]
    for place, year in enumerate(found.years):
        x, trees = _EDGE + (place + 0.5) * step, found.trees.get((cause, year), 0)
        if trees:
            height = max(trees / highest * (_FLOOR - _TOP), 1.5)
            shapes.append(Box("bar", round(x - width / 2, 1), round(_FLOOR - height, 1), round(width, 1), round(height, 1)))
            shapes.append(Words("number", round(x, 1), round(_FLOOR - height - 4, 1), local_count(trees), "middle"))
        if place % every == 0:
            shapes.append(Words("label", round(x, 1), _FLOOR + 16, str(year), "middle"))
    return Picture(_WIDTH, _HEIGHT, tuple(shapes))


def cause_sentence(over_years):
    """The commonest cause, and the year it took most, from the same numbers; "" without a death."""
    found = over_years.found
    if not found.causes:
        return ""
    first = found.causes[0]
    year = max(found.years, key=lambda one: found.trees.get((first, one), 0))
    words = gettext("Commonest cause: %(cause)s, %(trees)s. Its highest year is %(year)s, with %(number)s.")
    values = {"trees": local_amount(found.total(first), "trees"), "number": local_count(found.trees[first, year])}
    return words % {"cause": local_text(over_years.words.get(first, first)), "year": year, **values}


def cause_years_table(over_years):
    """The numbers of the panels."""
    found = over_years.found
    columns = [
        Column(gettext("Cause"), lambda cause: over_years.words.get(cause, cause)),
        *(
            Column(str(year), lambda cause, year=year: found.trees.get((cause, year)), "right", "number")
            for year in found.years
        ),
        Column(gettext("All"), found.total, "right", "number"),
    ]  # fmt: skip
    return ledger_table(gettext("New deaths and removals by cause and year of census"), columns, found.causes, unit="rows")
