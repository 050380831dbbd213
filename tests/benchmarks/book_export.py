"""All records out and in again: 100,000 census records on 100,000 trees, each way in a process of its own, so that its memory shows.

Run by name: `.venv/bin/python tests/benchmarks/book_export.py`. Target: 20,000 rows a second out, and a memory that does not grow with the
rows. Floors of the same run: the driver's rows of the census written as CSV, and put into a table by its own `executemany`.
"""

import csv
import os
import sqlite3
import subprocess
import sys
import tempfile
from pathlib import Path

from census_import import PLANTINGS, TREES_EACH, book_of_trees, sheet
from temporary_book import open_book, report, seconds

STEP = """
import sys, time, resource
import django; django.setup()
from django.core.management import call_command
from plantings.exports.book import book_export
from registry.services.audit.book_load import book_load
call_command("migrate", verbosity=0)
before, start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.perf_counter()
rows = {"export": book_export, "import": book_load}[sys.argv[1]](sys.argv[2]).rows
print(rows, time.perf_counter() - start, before / 1024, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def step(name, folder, data):
    environment = os.environ | {"MASTBOOK_DATA_DIR": str(data), "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    done = subprocess.run([sys.executable, "-c", STEP, name, str(folder)], env=environment, capture_output=True, text=True, check=True)
    rows, taken, before, peak = map(float, done.stdout.split())
    return int(rows), taken, before, peak


def floor_out(database, folder):
    with sqlite3.connect(database) as base, (folder / "floor.csv").open("w", newline="") as file:
        csv.writer(file).writerows(base.execute("SELECT * FROM plantings_observation ORDER BY id"))


def floor_in(database, rows):
    base = sqlite3.connect(database)
    base.execute(f"CREATE TABLE observation (id INTEGER PRIMARY KEY, {', '.join(f'c{n}' for n in range(1, len(rows[0])))})")
    base.executemany(f"INSERT INTO observation VALUES ({', '.join('?' * len(rows[0]))})", rows)
    base.commit()


def main():
    data = open_book()
    actor = book_of_trees()
    from plantings.imports.loading import sheet_load

    sheet_load(actor=actor, kind="census", content=sheet(1), filename="census.csv")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "elsewhere").mkdir()
        census, database = PLANTINGS * TREES_EACH, data / "mastbook.sqlite3"
        rows, taken, before, peak = step("export", folder / "records", data)
        floor = seconds(lambda: floor_out(database, folder))[0]
        report(
            "export", rows=f"{rows:,}", rows_a_second=f"{rows / taken:,.0f}", floor_rows_a_second=f"{census / floor:,.0f}",
            peak_MB=f"{peak:.0f} (before: {before:.0f})",
        )  # fmt: skip
        read = sqlite3.connect(database).execute("SELECT * FROM plantings_observation ORDER BY id").fetchall()
        rows, taken, before, peak = step("import", folder / "records", folder / "elsewhere")
        floor = seconds(lambda: floor_in(folder / "floor.sqlite3", read))[0]
        report(
            "import", rows=f"{rows:,}", rows_a_second=f"{rows / taken:,.0f}", floor_rows_a_second=f"{census / floor:,.0f}",
            peak_MB=f"{peak:.0f} (before: {before:.0f})",
        )  # fmt: skip


if __name__ == "__main__":
    main()
