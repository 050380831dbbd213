"""The long data as files: a ZIP of CSV with its dictionary and two scripts, and a workbook. Both are written row by row."""

from pathlib import Path

from plantings.exports.permit_zip import csv_pieces
from registry.calc.shared.screen import amount_words, day_words
from registry.imports.sheets.formats import ROWS_OF_A_WORKBOOK, workbook_cell, written_workbook
from registry.imports.sheets.reading_options import SheetError
from registry.prints.bundle import Bundle
from registry.services.shared.progress import counted

__all__ = ["long_workbook", "long_zip"]

DICTIONARY_HEADERS = ("Column", "Type", "Unit", "Codes", "Meaning")
_SCRIPTS = {"survival.py": "survival_script.py", "survival.R": "survival_script.R"}


def long_zip(target, data, level, choices, now):
    """Write the ZIP to a binary file.

    Parameters
    ----------
    target : binary file
    data : LongData
    level : str
        The level that the README names for the scripts.
    choices : list of str
        The choices of the page, in words.
    now : datetime
    """
    bundle = Bundle(target, f"survival-data-{data.as_of.isoformat()}", now)
    bundle.add("data.csv", csv_pieces([column.name for column in data.columns], _rows(data)))
    bundle.add("dictionary.csv", csv_pieces(DICTIONARY_HEADERS, data.columns))
    for name, source in _SCRIPTS.items():
        bundle.add(name, [Path(__file__).with_name(source).read_bytes()])
    bundle.add("README.txt", ["\n".join(_readme(data, level, choices)).encode()])
    bundle.close([f"Long data of survival, read on {data.as_of.isoformat()}"])


def _rows(data):
    return counted(data.rows(), "Writing the rows", count=data.rows_at_most)


def _readme(data, level, choices):
    age = f" --age {data.default_age}" if data.default_age is not None else ""
    yield "Long data of survival"
    yield ""
    yield f"Read on {day_words(data.as_of)}. Shown: {'; '.join(choices)}."
    yield f"Records {'count before somebody has accepted them' if data.unread_count else 'count only once they are accepted'}."
    yield ""
    yield "data.csv        one row for each tree and census round, and one for each counted plot and round (UTF-8)"
    yield "dictionary.csv  what each column is: type, unit, codes, meaning; a blank says that nobody looked, never zero"
    yield "survival.py     prints survival by site and lineage (Python 3.9, nothing to install)"
    yield "survival.R      the same (base R)"
    yield ""
    yield f"    python survival.py --level {level}{age}"
    yield f"    Rscript survival.R {level}{age.replace(' --age', '')}"
    yield ""
    yield "Survival = sum of alive / sum of assessed over rows with counted = yes and complete = yes, each planting at one round."
    yield "A text that a spreadsheet would run as a formula has an apostrophe before it."
    yield "Replacements, buffers and fillers are in the data and not counted. Never add planted and sown."
    yield "Counted plots of an unknown number planted are not in the data: no survival follows from their counts. Nor are the trees of"
    yield "plantings of which some trees are not on record."
    for part in (item.part for item in data.not_complete):
        yield f"Not complete, marked in the data: {part.planting} {part.label} ({part.why})."
    for left in data.left_out:
        yield f"Not in the data: {left.planting} at {left.site}: {left.reason}."
    for round_ in data.waiting:
        yield f"Not in the data: {round_.planting} {round_.label}: {amount_words(round_.records, 'records')} to review."
    yield ""


def long_workbook(target, data):
    """Write the workbook to a binary file: the rows, and the dictionary on the second sheet.

    Raises
    ------
    SheetError
        Where one sheet cannot hold them.
    """
    with written_workbook(target) as book:
        sheet = book.create_sheet("data")
        sheet.freeze_panes = "A2"
        sheet.append([column.name for column in data.columns])
        for number, row in enumerate(_rows(data), start=2):
            if number > ROWS_OF_A_WORKBOOK:
                raise SheetError(f"A workbook holds {ROWS_OF_A_WORKBOOK:,} rows, and there are more. Take the ZIP, or choose fewer sites.")
            sheet.append([workbook_cell(sheet, value) for value in row])
        dictionary = book.create_sheet("dictionary")
        for line in (DICTIONARY_HEADERS, *data.columns):
            dictionary.append([workbook_cell(dictionary, value) for value in line])
