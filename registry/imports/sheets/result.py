"""A plan in the words of django-import-export, for those who call a sheet through the library's own entry."""

from import_export.results import Error, Result, RowResult

from registry.imports.sheets.plan import CHANGED, NEW, UNCHANGED

_RESULT_TYPES = {NEW: RowResult.IMPORT_TYPE_NEW, CHANGED: RowResult.IMPORT_TYPE_UPDATE, UNCHANGED: RowResult.IMPORT_TYPE_SKIP}


def plan_result(plan, headers):
    """A plan as django-import-export's Result."""
    result = Result()
    result.diff_headers = list(headers)
    result.total_rows = plan.rows
    wrong = {}
    for problem in plan.problems:
        wrong.setdefault(problem.row, []).append(Error(ValueError(str(problem)), number=problem.row))
    outcomes = {item.row: _RESULT_TYPES[item.outcome] for item in plan.items} | dict.fromkeys(wrong, RowResult.IMPORT_TYPE_ERROR)
    for number in sorted(outcomes):
        row = RowResult()
        row.number, row.import_type, row.errors = number, outcomes[number], wrong.get(number, [])
        result.append_row_result(row)
        result.increment_row_result_total(row)
    return result
