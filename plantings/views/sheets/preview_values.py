"""What saving a sheet would do, as plain values: a page shows them at once, or from the file in which the worker stored them."""

import json

from plantings.views.sheets.sheets import short_cell
from registry.calc.shared.screen import amount_words, number_words
from registry.imports.loads.aside import aside_fault
from registry.imports.sheets.plan import CHANGED, NEW, REPEATED, UNCHANGED, WRONG, grouped, groups
from registry.views.shared.tables import Column, Row, ledger_table

__all__ = ["combined_values", "preview_values", "values_bytes", "values_read"]

_SHOWN_ROWS = 50
_SHOWN_PROBLEMS = 200
_NEW_SHOWN, _LINES_SHOWN = 5, 200
_FAULTS = (
    Column("Rows", lambda group: len(group.rows), "right", kind="number"),
    Column("Column", "column"),
    Column("What to do", "message", wide=True),
    Column("Value", lambda group: short_cell(group.value_words())),
    Column("Which", lambda group: group.row_words()),
)
_KINDS = (
    Column("Kind", lambda part: part.sheet.title),
    *(
        Column(name.capitalize(), lambda part, name=name: number_words(part.plan.counts[name]), "right")
        for name in (NEW, CHANGED, UNCHANGED)
    ),
    Column("Said again", lambda part: number_words(part.plan.counts[REPEATED]), "right"),
    Column("Wrong", lambda part: number_words(part.plan.counts[WRONG]), "right"),
)


def preview_values(sheet, plan, sets_aside):
    """What the page says of a plan of one kind; `sets_aside` where the plan is without its wrong rows."""
    counts = plan.counts
    todo = counts[NEW] + counts[CHANGED]
    parts = []
    problems = plan.problems or [problem for found in plan.aside.values() for problem in found]
    if problems:
        found = groups(problems)
        unit = "kinds of fault" if len(found) <= _SHOWN_PROBLEMS else f"kinds of fault shown of {len(found):,}"
        parts.append(ledger_table("Wrong rows" if plan.problems else "Rows set aside", _FAULTS, found[:_SHOWN_PROBLEMS], unit=unit))
    if plan.warnings:
        found = grouped(plan.warnings)[:_SHOWN_ROWS]
        note = "A warning does not stop the sheet from being saved."
        parts.append(ledger_table("Warnings", (Column("Warning", str),), found, unit="warnings", note=note))
    parts.extend(_rows(sheet, plan, outcome) for outcome in (CHANGED, NEW, UNCHANGED) if counts[outcome])
    aside = len(plan.aside)
    return _shared(plan, todo, bool(counts[CHANGED])) | {
        "counts": list(counts.items()),
        "parts": parts,
        "aside": aside,
        "submit_label": f"Save {amount_words(todo, 'rows')}" + (f" and set {aside:,} aside" if aside else ""),
        "may_set_aside": bool(plan.problems) and not sets_aside and not aside_fault(sheet),
    }


def combined_values(plan, sets_aside):
    """What the page says of a plan of several kinds; `sets_aside` where the plan is without its wrong rows."""
    note = "“Said again” are rows that repeat an earlier row of the sheet, such as the site of each of its trees."
    parts = [ledger_table("Kinds", _KINDS, plan.parts, unit="kinds", note=note)]
    for title, lines in (
        ("What is wrong", plan.problem_lines()),
        ("Rows set aside", plan.aside_lines()),
        ("Warnings: they do not stop the sheet from being saved", plan.warning_lines()),
    ):
        if lines:
            parts.append(ledger_table(title, (Column("Kind, rows and column: what to do", str),), lines[:_LINES_SHOWN], unit="lines"))
    for part in plan.parts:
        parts += [_first_rows(part, outcome) for outcome in (CHANGED, NEW) if part.plan.counts[outcome]]
    todo = sum(part.plan.counts[NEW] + part.plan.counts[CHANGED] for part in plan.parts)
    return _shared(plan, todo, bool(plan.changed)) | {
        "counts": plan.counts,
        "parts": parts,
        "aside": len(plan.aside),
        "may_set_aside": bool(plan.problems) and not sets_aside,
        "submit_label": f"Save {amount_words(todo, 'records')}"
        + (f" and set {amount_words(len(plan.aside), 'rows')} aside" if plan.aside else ""),
    }


def _shared(plan, todo, changes):
    return {
        "columns_left": plan.column_words(), "notes": list(plan.notes), "refused": bool(plan.problems), "todo": todo, "changes": changes,
        "shown": plan.summary(),
    }  # fmt: skip


def _first_rows(part, outcome):
    """The rows of one outcome of a kind; of new ones a few, which show whether the columns are the right ones."""
    table = _rows(part.sheet, part.plan, outcome)
    rows = table["rows"][: _NEW_SHOWN if outcome == NEW else None]
    count = part.plan.counts[outcome]
    unit = table["unit"] if len(rows) == count else f"rows shown of {count:,}"
    return table | {"title": f"{part.sheet.title}: {outcome}", "rows": rows, "count": len(rows), "unit": unit}


def _rows(sheet, plan, outcome):
    items = plan.sound(outcome)
    columns = [Column("Row", lambda item: item.row, "right")]
    columns += [Column(sheet.header(name), lambda item, name=name: _cell(sheet, item, name)) for name in sheet.sources]
    unit = "rows" if len(items) <= _SHOWN_ROWS else f"rows shown of {len(items):,}"
    return ledger_table(f"{outcome.capitalize()} rows", columns, items[:_SHOWN_ROWS], unit=unit)


def _cell(sheet, item, name):
    if name in item.changes:
        old, new = (sheet.shown(name, value) for value in item.changes[name])
        return f"{old or 'nothing'} → {new}"
    return sheet.shown(name, item.values.get(name))


def values_bytes(values):
    """The values as JSON."""
    parts = [part | {"rows": [[row.cells, row.mark] for row in part["rows"]]} for part in values["parts"]]
    return json.dumps(values | {"parts": parts}, ensure_ascii=False, default=str).encode()


def values_read(content):
    """The values that `values_bytes` wrote."""
    values = json.loads(content)
    values["parts"] = [part | {"rows": [Row(*row) for row in part["rows"]]} for part in values["parts"]]
    return values
