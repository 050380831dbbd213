"""The heat table of survival: one page of it, its cells, and where the other pages are."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.calc.survival.heat import COLUMNS_MOST, ROWS_MOST, HeatColumn
from plantings.calc.survival.survival import number_words
from plantings.maps.layers import marker_label, share_step
from plantings.selectors.census.progress_words import of_words
from plantings.views.survival.columns import heads, key_words
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_count, local_number
from registry.templatetags.parts_drawing import band_text


def heat_pages(query):
    """(page of rows, page of columns) that an address asks for; the first where it says nothing that can be read."""
    return tuple(
        int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 1 for text in map(query.get, ("page", "columns"), "11")
    )


def heat_part(table):
    """First labels down, the other labels across, a figure or nothing in each cell."""
    window = table.heat
    cells = {(row.keys[0], HeatColumn.of(row)): row for row in table.rows}
    return {
        "corner": gettext(heads(table)[0]),
        "columns": [_head(column) for column in window.columns],
        "rows": [
            (key_words(table.by[0], key, table.site_names), [_cell(cells.get((key, column))) for column in window.columns])
            for key in window.rows
        ],
        "down": _pages(window.first_row, len(window.rows), window.row_count, ROWS_MOST),
        "across": _pages(window.first_column, len(window.columns), window.column_count, COLUMNS_MOST),
        "gathered": "-".join(("jurisdiction", *table.by[1:])) if window.row_count > ROWS_MOST and table.by[0] == "site" else "",
    }  # fmt: skip


def _head(column):
    return " · ".join(column.keys), local_text(column.role_words) if column.is_check or column.sown else ""


def _pages(first, shown, count, most):
    """Which of how many are shown, and the numbers of the pages before and after; None where all are shown."""
    if count <= most:
        return None
    number = first // most + 1
    words = _("%(first)s to %(last)s of %(all)s") % {
        "first": local_count(first + 1), "last": local_count(first + shown), "all": local_count(count),
    }  # fmt: skip
    return {"words": words, "before": number - 1 or None, "after": number + 1 if first + shown < count else None}


def _cell(row):
    """What a cell prints. `step` is its shade; a cell without one is hatched: under ten trees, or from a census that is not complete."""
    if row is None:
        return None
    if row.share is None:
        return {"figure": local_text(row.reason), "row": row}
    band = band_text(row.band_low, row.band_high)
    share = local_number(f"0{marker_label(row)}".replace("01.0", "1.00"))
    figure = of_words(row.alive, row.n) if row.count_leads else share
    interval = "" if row.count_leads else local_number(f"{row.low:.2f}–{row.high:.2f}")
    notes = [interval, _("band %(band_words)s") % {"band_words": band} if band else "", *map(local_text, row.caveats)]
    number = "" if row.count_leads else local_text(number_words(row.n, row.countable))
    step = share_step(row) if row.complete else None
    return {"figure": figure, "step": step, "row": row, "notes": [note for note in (number, *notes) if note]}
