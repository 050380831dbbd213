"""Wrong rows set aside: the good rows of a sheet are stored as if only they had come, all of them or nothing."""

from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError

__all__ = ["aside_fault", "aside_words", "store_without_wrong"]

ROUNDS_MAX = 20  # each round only takes rows away; a sheet whose faults show one after the other longer than this is refused as a whole


def aside_fault(sheet):
    """Why wrong rows of this kind of sheet cannot be set aside; "" where they can."""
    return f"{sheet.aside_refused}. Correct the wrong rows, and load the sheet again." if sheet.aside_refused else ""


def store_without_wrong(make_plan, actor, reason="", trial=False):
    """Store the rows of a sheet that nothing is wrong with; with `trial`, undo it again. Returns (sheet, table, plan).

    Wrong rows are taken out and what is left is checked again as a sheet of its own, until nothing is wrong: a row that builds on a wrong
    one, or contradicts it, goes with it. The rows taken out are in `plan.aside`.

    Parameters
    ----------
    make_plan : function of a frozenset of row numbers, which gives (sheet, table, plan) without these rows

    Raises
    ------
    SheetError
        For a kind whose rows cannot be set aside.
    SheetRefused
        Where no row can be stored, or what is wrong is about no row.
    ReasonMissing
        As `store` does.
    """
    out = {}
    for _round in range(ROUNDS_MAX):
        sheet, table, plan = make_plan(frozenset(out))
        if fault := aside_fault(sheet):
            raise SheetError(fault)
        if not plan.problems:
            if not plan.items:
                break
            try:
                plan.aside = dict(sorted(out.items()))
                sheet.store(plan, actor, reason, trial=trial)
                return sheet, table, plan
            except SheetRefused:
                pass  # the plan now lists what the services refused
        out |= plan.rows_out()
    if not plan.problems:
        plan.problems = [problem for problems in out.values() for problem in problems]
    raise SheetRefused(plan)


def aside_words(plan):
    """[[row, what to correct], ...] of the rows that a plan sets aside: as a load remembers them."""
    return [[row, "; ".join(dict.fromkeys(_words(row, problem) for problem in problems))] for row, problems in plan.aside.items()]


def _words(row, problem):
    said = f"{problem.column}: {problem.message}" if problem.column else problem.message
    return said if problem.row == row else f"goes with row {problem.row}, where {said}"
