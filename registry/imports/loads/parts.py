"""A long sheet checked and stored in parts, so that its memory does not grow with the file.

A kind of sheet says by `together` in which column the same cell holds rows together: its rules never look at two rows of which these cells
differ. So the parts of a file say and store together what the file would as a whole, and it stays all or nothing: they are
stored in the one write that the caller has open, and once something is wrong the rest is only checked.
"""

from array import array
from collections import Counter

from registry.imports.sheets.mapping import bind
from registry.imports.sheets.plan import CHANGED, Plan, ReasonMissing, SheetRefused
from registry.imports.sheets.sheet import cell_of
from registry.imports.sheets.table import TO_CORRECT
from registry.imports.sheets.text import cell_text

__all__ = ["StoredParts", "plan_in_parts"]

PART_ROWS = 20_000


def plan_in_parts(sheet, table, spec, without=frozenset(), store=None):
    """The plan of a file: of a long one made part by part, with `store` called with each part before the next is made.

    The Plan of a file in parts has no items, and `in_parts` is True.
    """
    parts, names = _parts(sheet, table, spec)
    if len(parts) < 2:
        return sheet.plan(table, spec, table.first_row, without)
    if store is not None:
        sheet.hold(names)
    total = Plan(rows=len(table), in_parts=True)
    for number, places in enumerate(parts, start=1):
        sheet.part_words = f", part {number} of {len(parts)}"
        plan = sheet.plan(table, spec, table.first_row, without, places)
        if store is not None and not total.problems:
            store(sheet, plan)
        total.take_in(plan)
    if total.used is not None:
        total.say_used()
    return total


class StoredParts:
    """Stores the parts of a file. Whoever has called it for all of them calls `check` with the plan of the file."""

    def __init__(self, actor, reason):
        self.actor, self.reason, self.reason_missing = actor, reason, False

    def __call__(self, sheet, plan):
        try:
            sheet.store(plan, self.actor, self.reason)
        except SheetRefused:
            pass  # the plan lists why
        except ReasonMissing:
            self.reason_missing = True

    def check(self, plan):
        """Raise SheetRefused or ReasonMissing where the file as a whole cannot be stored; the caller takes back what its parts stored."""
        if plan.problems:
            raise SheetRefused(plan)
        if self.reason_missing:
            raise ReasonMissing(plan.counts[CHANGED])


def _parts(sheet, table, spec):
    """(the places of the rows of each part, the cells that hold rows together); one part where the sheet is read as a whole."""
    whole = [range(len(table))], ()
    if not sheet.together or len(table) <= PART_ROWS or "visits" in spec or TO_CORRECT in table.headers:
        return whole
    sources = bind(sheet.sheet_fields(), table.headers, spec)
    if sheet.together not in sources or sheet.reads_whole & sources.keys():
        return whole
    source, numbers, groups = sources[sheet.together], {}, array("I")
    for row in table.rows:
        cell = cell_of(source, row)
        groups.append(numbers.setdefault(str(cell) if isinstance(cell, Exception) else cell_text(cell), len(numbers)))
    sizes, part_of, filled = Counter(groups), [], 0
    for number in range(len(numbers)):  # in the order in which the file has them
        if filled >= PART_ROWS or not part_of:
            part_of.append((part_of[-1] if part_of else -1) + 1)
            filled = 0
        else:
            part_of.append(part_of[-1])
        filled += sizes[number]
    parts = [array("I") for _ in range(part_of[-1] + 1)]
    for place, number in enumerate(groups):
        parts[part_of[number]].append(place)
    return parts, tuple(numbers)
