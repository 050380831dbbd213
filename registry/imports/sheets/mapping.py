"""How the columns of somebody's own sheet become ours: made once, saved by name, read from a JSON file by the command.

A mapping is a dict. README, "A mapping, part by part", has an example of each:

    {"columns": {"tag": "Plant_ID",                                        the column as it is
                 "planting": {"constant": "PL-01"},                        the same value in every row
                 "status": {"from": "Height", "values": {"": "D", "*": "A"}},   a stated rule: blank is D, else A
                 "round": {"visit": "year"}, ...},                         see `sources.py` for all a column may say
     "rows": [{"column": "Plot", "blank": false}],                         which rows are used, see `rows.py`
     "visits": {"height": "H_{year}"}, "blank_visits": "use",              columns that are visits, see `visits.py`
     "file_name": "{site}_{year}.csv", "sheet_name": "{season}", "given": {"year": "2022"},     see `given.py`
     "these_are_counts": true,                     numbers of living trees are counts, whatever they look like
     "delimiter": "semicolon", "sheet": "2024", "header_row": 3, "decimal": ",", "dates": ["DD.MM.YYYY", "D Mon YYYY"],
     "crs": "EPSG:26918",                          of a map file that does not name its own; "sheet" names its layer
     "unlisted_parents": {"taxon": "Juglans cinerea", "generation": "native"}}      of trees: parents without a row are founders like this

Fields that are not named take the column whose header is theirs, when there is one and `columns` is left out.
"""

from registry.imports.sheets.reading_options import SheetError
from registry.imports.sheets.sources import Source, SourceMaker, headers_named
from registry.imports.sheets.visits import sheet_visits

__all__ = ["MORE_NAMES", "Source", "bind", "bind_visits", "missing_headers"]

# what a mapping may say besides its columns and how the file is written
MORE_NAMES = ("rows", "visits", "blank_visits", "file_name", "sheet_name", "given", "about", "these_are_counts")
_SPEC_NAMES = {"columns", "delimiter", "sheet", "header_row", "decimal", "dates", "crs", "kind", "unlisted_parents", *MORE_NAMES}


def bind_visits(fields, headers, spec):
    """Match the fields of a sheet class with the headers of a file, for each visit of the mapping.

    Returns [({field name: Source}, columns)]: one without columns where the mapping names no visits; otherwise one for each visit, which
    has a record where one of these columns is filled. Raises SheetError naming the field or header that does not fit.
    """
    unknown = set(spec) - _SPEC_NAMES
    if unknown:
        raise SheetError(
            f"The mapping has '{sorted(unknown)[0]}', which is not part of a mapping. Its parts are: {', '.join(sorted(_SPEC_NAMES))}."
        )
    columns = spec.get("columns")
    if not isinstance(columns, (dict, type(None))):
        raise SheetError('"columns" of the mapping is not an object. Write {"columns": {"our name": "their header"}}.')
    if not columns:
        if "visits" in spec:
            raise SheetError('The mapping has "visits" and no "columns". Write in "columns" what each of ours takes from a visit.')
        return [(_by_header(fields, headers), ())]
    wrong = sorted(set(columns) - set(fields))
    if wrong:
        raise SheetError(f"The mapping names the field '{wrong[0]}', which this sheet does not have. It has: {', '.join(fields)}.")
    bound = []
    for visit in sheet_visits(spec, headers):
        maker = SourceMaker(headers, spec, visit)
        sources = {name: maker.source(name, given, fields[name].column_name) for name, given in columns.items()}
        bound.append((sources, maker.visit_columns() if spec.get("blank_visits") != "use" else ()))
    return bound


def bind(fields, headers, spec):
    """The sources of the first visit, or of a sheet without visits: {field name: Source}."""
    return bind_visits(fields, headers, spec)[0][0]


def _by_header(fields, headers):
    known, earlier = {}, {}
    for name, field in fields.items():
        known[name.casefold()] = known[field.column_name.casefold()] = name
        earlier |= {header.casefold(): name for header in field.was}
    found = {}
    for names in (known, earlier):  # a header of today goes before one that a sheet had earlier
        for number, header in enumerate(headers):
            name = names.get(header.casefold())
            if name and name not in found:
                found[name] = Source(number, header)
    if not found:
        ours = ", ".join(field.column_name for field in fields.values())
        raise SheetError(f"None of the columns ({', '.join(headers)}) is one of ours ({ours}). Map your columns, or use the template.")
    return found


def missing_headers(spec, headers):
    """{field name: header} of what a mapping takes from columns the file does not have."""
    columns = spec.get("columns")
    missing = {}
    for name, given in columns.items() if isinstance(columns, dict) else ():
        absent = [header for header in headers_named(given) if header and header not in headers]
        if absent:
            missing[name] = absent[0]
    return missing
