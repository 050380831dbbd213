"""A load in words, and the addresses of what it stored, as its page and the list of loads show them."""

import json

from django.urls import NoReverseMatch, reverse

from plantings.imports.combined.parts import COMBINED
from plantings.imports.kinds import KINDS
from plantings.views.sheets.sheets import count_words
from registry.calc.shared.screen import amount_words
from registry.imports.sheets.plan import CHANGED, NEW
from registry.views.shared.addresses import record_url, route_of

RECORDS_SHOWN = 50


def load_state(load):
    """What became of a load, in a few words."""
    if load.withdrawn:
        return "withdrawn"
    return f"{amount_words(load.rows_out, 'rows')} still out" if load.rows_out else "complete"


def load_title(load):
    """The kind of a load in words."""
    return COMBINED.title if load.kind == COMBINED.kind else KINDS[load.kind].title


def load_counts(load):
    """What a load stored in a few words: of several kinds what they come to together, the rows of one as they are."""
    if load.kind != COMBINED.kind:
        return count_words(load.counts)
    total = {name: sum(counts.get(name, 0) for counts in load.counts.values()) for name in (NEW, CHANGED)}
    return f"{count_words(total)}, of {amount_words(len(load.counts), 'kinds')}"


def mapping_text(spec):
    """A mapping as JSON; of several kinds each on a line of its own, since a page would be filled by their brackets."""
    if "parts" not in spec:
        return json.dumps(spec, ensure_ascii=False, indent=1)
    lines = [f"{json.dumps(name)}: {json.dumps(value, ensure_ascii=False)}" for name, value in spec.items() if name != "parts"]
    parts = [f"{json.dumps(kind)}: {json.dumps(spec['parts'][kind], ensure_ascii=False)}" for kind in KINDS if kind in spec["parts"]]
    return "{" + ",\n".join([*lines, '"parts": {\n' + ",\n".join(parts) + "}"]) + "}"


def address_or_none(record):
    """The page of a record, where it has one."""
    try:
        return record_url(record) if hasattr(record, "pk") else None
    except NoReverseMatch:
        return None


def cells_before(sheet, lines):
    """[(record, [(column, its cell before the load)])] of the records of one kind that a load changed."""
    records = sheet.model._base_manager.in_bulk([key for key, _cells in lines[:RECORDS_SHOWN]])
    fields = sheet.with_own_columns().sheet_fields()

    def said(name, cell):
        return (fields[name].column_name, fields[name].widget.quoted(cell)) if name in fields else (name, cell)

    return [(records.get(key, f"record {key}"), [said(name, cell) for name, cell in cells.items()]) for key, cells in lines]


def list_or_none(kind):
    """The list of the records of a kind of sheet, where there is one."""
    try:
        return reverse(f"{route_of(KINDS[kind].model)}_list")
    except NoReverseMatch:
        return None
