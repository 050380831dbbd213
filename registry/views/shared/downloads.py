"""Tables as downloads: CSV and XLSX of exactly what a page shows."""

import io
from urllib.parse import urlencode

from django.http import Http404

from registry.imports.sheets.formats import CONTENT_TYPES, write_rows, write_rows_to
from registry.views.shared.addresses import file_response
from registry.views.shared.tables import as_cell


def known_format(wanted):
    """The format somebody asked for; Http404 for any other."""
    if wanted not in CONTENT_TYPES:
        raise Http404(f"Mastbook does not write that format. Choose one of: {', '.join(CONTENT_TYPES)}.")
    return wanted


def sheet_response(content, name, wanted):
    """The bytes of a sheet, as a download."""
    return file_response(content, CONTENT_TYPES[wanted], f"{name}.{wanted}")


def rows_response(headers, rows, name, wanted):
    """Rows under their headers, as a download."""
    return sheet_response(write_rows(headers, rows, known_format(wanted)), name, wanted)


def columns_response(columns, records, name, wanted):
    """Records in the columns of their table, as a download."""
    target = io.BytesIO()
    write_columns(target, columns, records, known_format(wanted))
    return sheet_response(target.getvalue(), name, wanted)


def write_columns(target, columns, records, wanted):
    """Write records in the columns of their table to a binary file."""
    rows = ([as_cell(column.cell(record)[0]) for column in columns] for record in records)
    write_rows_to(target, [str(column.label) for column in columns], rows, wanted)


def download_links(query):
    """[(format, address)] of what a page shows: every page of it, filtered by the query of the page (a QueryDict)."""
    kept = {name: values for name, values in query.lists() if name != "page"}
    return [(wanted.upper(), f"?{urlencode(kept | {'download': wanted}, doseq=True)}") for wanted in CONTENT_TYPES]
