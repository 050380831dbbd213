"""Sheets whose counts would be made up from a percentage are refused: no trees are invented."""

import json

from plantings.calc.census.percentages import look_like_percentages, names_a_rate, names_survival
from registry.imports.sheets.plan import Problem
from registry.imports.sheets.reading_options import SheetError

__all__ = ["COUNTS_DECLARED", "declares_counts", "percentages_found", "rates_set_aside", "refuse_percentages"]

COUNTS_DECLARED = "these_are_counts"
_DECLARE = f'If they are counts all the same, declare it in the mapping: {{"{COUNTS_DECLARED}": true}}.'


def declares_counts(spec):
    """Whether a mapping declares that the numbers are counts. Raises SheetError for a declaration that is not true or false."""
    said = (spec or {}).get(COUNTS_DECLARED, False)
    if not isinstance(said, bool):
        raise SheetError(f'"{COUNTS_DECLARED}" of the mapping is neither true nor false. Write true where the numbers are counts.')
    return said


def refuse_percentages(headers, spec, counts):
    """Refuse a sheet by its headers and its mapping, unless the mapping declares counts. `counts` are our fields of counts."""
    if declares_counts(spec):
        return
    rates = [header for header in headers if names_a_rate(header)]
    columns = (spec or {}).get("columns") or {}
    # what the mapping says is checked later: here it may be anything
    sources = [columns.get(name) for name in counts] if isinstance(columns, dict) else []
    used = [given.get("from") if isinstance(given, dict) else given for given in sources]
    from_rate = [header for header in rates if header in used]
    # one number planted for all rows, beside a column of survival: the number was made up so that the survival can be loaded
    is_made_up = any(isinstance(given, dict) and "constant" in given for given in sources)
    from_rate += [header for header in rates if is_made_up and names_survival(header)]
    if from_rate or (rates and not columns and not any("count" in header.casefold() for header in headers)):
        raise SheetError(
            f"The column '{(from_rate or rates)[0]}' holds a percentage or a rate, and no tree can be made from it. "
            "Needed for every plot: how many were planted (count) and how many were alive (count). "
            f"Ask whoever made the sheet for the counts behind the percentages. {_DECLARE}"
        )


def rates_set_aside(headers, spec):
    """A sentence for each column of percentages or rates that a mapping takes nothing from: no record has a place for one."""
    columns = (spec or {}).get("columns") or {}
    used = json.dumps(columns)
    rates = [header for header in headers if columns and names_a_rate(header) and json.dumps(header) not in used]
    return [
        f"The column '{header}' holds a percentage or a rate. It is set aside, since no record has a place for it without the counts "
        "behind it; it stays in the file, which is stored with the load."
        for header in rates
    ]


def percentages_found(header, values, planted):
    """The Problem of a sheet whose counts look like percentages by what they are, None for any other."""
    if not look_like_percentages(values, planted, header):
        return None
    beside = "an unknown number" if planted[0] is None else f"{planted[0]:,}"
    return Problem(
        None, header, "",
        f"looks like percentages: {len(values):,} values from {min(values)} to {max(values)}, and {beside} planted in every plot. "
        f"No tree can be made from a percentage; ask whoever made the sheet for the counts. {_DECLARE}",
    )  # fmt: skip
