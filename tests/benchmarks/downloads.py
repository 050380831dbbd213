"""Downloads of many rows: census records as CSV and as XLSX, and the data tree by tree, each written by a process of its own.

Run by name: `.venv/bin/python tests/benchmarks/downloads.py [--rows N]`. Floor: the rows of the same table read by the driver and written
as CSV. Targets: 20,000 rows a second as CSV, and memory that does not grow with the rows.
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile

import census_import
from temporary_book import open_book, peak_mb, processor_seconds, report

SEASONS = 5  # the day of each has passed


def fill(rows):
    """Census records of so many trees and seasons, loaded as a sheet."""
    from plantings.imports.loading import sheet_load

    plantings = rows // census_import.TREES_EACH // SEASONS
    actor = census_import.book_of_trees(plantings, SEASONS)
    for season in range(1, SEASONS + 1):
        content = census_import.sheet(season, plantings)
        sheet_load(actor=actor, kind="census", content=content, filename="census.csv")


def floor(target):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM plantings_observation ORDER BY id")
        with open(target.fileno(), "w", newline="", closefd=False) as text:
            csv.writer(text).writerows(iter(cursor.fetchone, None))


def census(wanted):
    from plantings.imports.census import CensusSheet
    from registry.imports.sheets.formats import export_to
    from registry.models import Person

    actor = Person.objects.get(username="lead")
    return lambda target: export_to(target, CensusSheet, CensusSheet().get_queryset(), wanted, actor)


def long_data(target):
    from django.utils import timezone

    from plantings.exports.long_data import long_zip
    from plantings.selectors.survival.filters import SurvivalFilter
    from plantings.selectors.survival.long_data import long_data
    from registry.models import Person

    long_zip(target, long_data(Person.objects.get(username="lead"), SurvivalFilter()), "lot", [], timezone.localtime())


def write(name):
    """In a process of its own: write one download, and print what it took."""
    import django

    django.setup()
    work = {"floor": floor, "long data": long_data}.get(name) or census(name)
    before = peak_mb()
    with tempfile.TemporaryFile() as target:
        taken, _result = processor_seconds(lambda: work(target))
        size = os.fstat(target.fileno()).st_size
    print(json.dumps({"seconds": taken, "before": before, "peak": peak_mb(), "bytes": size}))


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, default=100_000)
    asked.add_argument("--write")
    given = asked.parse_args()
    if given.write:
        write(given.write)
        return
    open_book()
    fill(given.rows)
    from django.db import connection

    connection.close()
    for name in ("floor", "csv", "xlsx", "long data"):
        said = subprocess.run([sys.executable, __file__, "--write", name], check=True, stdout=subprocess.PIPE).stdout
        found = json.loads(said)
        report(
            f"{name}, {given.rows:,} rows, {found['bytes'] / 1e6:.0f} MB", processor_seconds=f"{found['seconds']:.1f}",
            rows_a_second=f"{given.rows / found['seconds']:,.0f}", peak_MB=f"{found['peak']:.0f} (before: {found['before']:.0f})",
        )  # fmt: skip
        sys.stdout.flush()


if __name__ == "__main__":
    main()
