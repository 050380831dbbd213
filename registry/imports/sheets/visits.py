"""Columns that are visits: a sheet with one row a tree and a column, or a group of columns, for each visit.

    {"height": "H_{year}", "state": "S_{year}"}                       a visit for each year among the headers
    [{"year": {"constant": "2019"}, "height": "Fall 19"}, …]          each visit by itself: a name and where it comes from

What `columns` takes as {"visit": "height"} then comes from one visit after the other; {"visit": "year"} is the place of the pattern.
"""

from registry.calc.shared.screen import amount_words
from registry.calc.sheets.name_patterns import name_pattern
from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.text import header_text

_EXAMPLE = 'Write {"height": "H_{year}"}, or a list such as [{"year": {"constant": "2019"}, "height": "Fall 19"}].'
_VISITS_MAX = 500


def sheet_visits(spec, headers):
    """What each visit gives by name: a list of dicts, [None] where the mapping names no visits. Raises SheetError."""
    visits = spec.get("visits")
    if spec.get("blank_visits", "leave out") not in ("leave out", "use"):
        raise SheetError('"blank_visits" of the mapping says what a visit without a filled cell means. Write "leave out" or "use".')
    if visits is None:
        return [None]
    if isinstance(visits, dict) and visits:
        visits = _by_pattern(visits, headers)
    if not isinstance(visits, list) or not visits or not all(isinstance(visit, dict) for visit in visits):
        raise SheetError(f'"visits" of the mapping is not understood. {_EXAMPLE}')
    if len(visits) > _VISITS_MAX:
        raise SheetError(
            f"The mapping makes {amount_words(len(visits), 'visits')} of the columns; up to {_VISITS_MAX} are read. Check the pattern."
        )
    return visits


def _by_pattern(groups, headers):
    patterns = {}
    for name, written in groups.items():
        try:
            patterns[name] = name_pattern(header_text(written) if isinstance(written, str) else written)
        except (ValueError, TypeError) as error:
            says = error if isinstance(error, ValueError) else _EXAMPLE
            raise SheetError(f"\"visits\" of the mapping, '{name}': {says}") from None
    places = {frozenset(pattern.names) for pattern in patterns.values()}
    if len(places) > 1 or set(patterns) & set().union(*places):
        raise SheetError('"visits" of the mapping: all patterns need the same places in braces, under other names than the columns have.')
    found = {}
    for header in headers:
        for name, pattern in patterns.items():
            said = _said(pattern, header)
            if said:
                key = tuple(sorted(said.items()))
                found.setdefault(key, {}).setdefault(name, header)
    if not found:
        written = " or ".join(pattern.written for pattern in patterns.values())
        raise SheetError(f'No column is written as {written}, as "visits" of the mapping says. The file has: {", ".join(headers)}.')
    blank = {name: {"constant": ""} for name in patterns}
    return [blank | columns | {place: {"constant": value} for place, value in key} for key, columns in found.items()]


def _said(pattern, header):
    try:
        return pattern.read(header)
    except ValueError as error:
        if "more than one way" in str(error):
            raise SheetError(f"The column '{header}' {error}.") from None
        return None
