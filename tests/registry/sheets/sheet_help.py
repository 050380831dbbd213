"""Loading a sheet of the registry in a test: stored, refused with its rows, written out and read back."""

import pytest

from registry.imports.sheets.formats import export_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.table import read_table
from tests import factories


def load(sheet_class, text, reason="", **spec):
    """Store a sheet given as CSV text or as the bytes of a file; returns its plan."""
    content = text if isinstance(text, bytes) else text.encode()
    table = read_table(content, "sheet.csv")
    sheet = sheet_class()
    plan = sheet.plan(table, spec, table.first_row)
    sheet.store(plan, factories.person(), reason)
    return plan


def refused(sheet_class, text, reason=""):
    """What a sheet is refused for, each with its row and column."""
    with pytest.raises(SheetRefused) as error:
        load(sheet_class, text, reason)
    return [str(problem) for problem in error.value.plan.problems]


def written_and_read(sheet_class):
    """Write every record in both formats and load what was written: returns the number of rows, none of them a change."""
    rows = set()
    for wanted in ("csv", "xlsx"):
        plan = load(sheet_class, export_bytes(sheet_class, sheet_class().get_queryset(), wanted))
        assert plan.counts["unchanged"] == plan.rows, (wanted, plan.summary(), [item.changes for item in plan.items])
        rows.add(plan.rows)
    (count,) = rows
    return count
