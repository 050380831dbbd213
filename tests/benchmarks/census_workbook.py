"""The same census as a workbook and as CSV: 20,000 rows of each, a season each, in turns in one process.

Run by name: `.venv/bin/python tests/benchmarks/census_workbook.py`. Target: loading XLSX takes at most 3 times the processor time of CSV.
"""

import csv
import datetime
import io

from census_import import book_of_trees, sheet
from temporary_book import open_book, processor_seconds, report

PLANTINGS, SEASONS = 20, 4
TAG = 2  # 00001 is a text in both


def workbook(content):
    """A CSV as a spreadsheet program stores it: numbers as numbers, days as days."""
    from registry.imports.sheets.formats import written_workbook

    target = io.BytesIO()
    with written_workbook(target) as book:
        page = book.create_sheet("Census")
        for row in csv.reader(io.StringIO(content.decode())):
            page.append([cell if place == TAG else _typed(cell) for place, cell in enumerate(row)])
    return target.getvalue()


def _typed(cell):
    for read in (float, datetime.date.fromisoformat):
        try:
            return read(cell)
        except ValueError:
            pass
    return cell or None


def load(actor, season, kind):
    """Processor seconds of loading a season as a kind of file."""
    from plantings.imports.loading import sheet_load
    from registry.imports.sheets.reading_options import ReadingOptions
    from registry.imports.sheets.table import read_table

    content, filename = sheet(season, PLANTINGS), f"census.{kind}"
    if kind == "xlsx":
        content = workbook(content)
    reading, _table = processor_seconds(lambda: read_table(content, filename, ReadingOptions()))
    taken, plan = processor_seconds(lambda: sheet_load(actor=actor, kind="census", content=content, filename=filename))
    report(
        f"census as {kind}, season {season}", stored=f"{plan.counts['new']:,}", processor_seconds=f"{taken:.2f}",
        reading_alone=f"{reading:.2f}",
    )  # fmt: skip
    return taken


def main():
    open_book()
    actor = book_of_trees(PLANTINGS, SEASONS)
    for season in range(1, SEASONS, 2):
        taken = [load(actor, season, "xlsx"), load(actor, season + 1, "csv")]
        report(f"seasons {season} and {season + 1}", XLSX_in_times_of_CSV=f"{taken[0] / taken[1]:.2f}")


if __name__ == "__main__":
    main()
