"""Memory of a census import: the peak of the process that loads 100,000, 300,000 and 1,000,000 rows, season after season of 125,000 trees.

Run by name: `.venv/bin/python tests/benchmarks/census_memory.py [--rows N …] [--by-planting]`. Each file is loaded by a process of its
own, from a copy of the same records. Target: a million rows within 500 MB, and no growth with the file beyond. With `--by-planting` the
rows are in the order of plantings, otherwise in that of seasons.
"""

import argparse
import datetime
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import census_import
from temporary_book import open_book, peak_mb, processor_seconds, report

PLANTINGS, SEASONS = 125, 8  # the day of each season has passed


def sheet(rows, by_planting):
    """A file of so many rows, without observers: of a million it has 42 MB."""
    seasons, plantings = range(1, SEASONS + 1), range(PLANTINGS)
    order = [(p, s) for p in plantings for s in seasons] if by_planting else [(p, s) for s in seasons for p in plantings]
    yield "Planting,Season,Tag,Status,Observed on,Cause of death or reason of removal,Height (cm),Diameter (mm),Canker class (0-4)\n"
    for planting, season in order[: rows // census_import.TREES_EACH]:
        day = datetime.date(2018 + season, 9, 12)
        for tree in range(census_import.TREES_EACH):
            grown = f"{20 + tree % 90 + 10 * season}.5,{tree % 40 + 3},{tree % 3}"
            yield f"P{planting:03d},season {season},{tree:05d},A,{day},,{grown}\n"


def load(path):
    """In a process of its own: load the file, and print what it took."""
    import django

    django.setup()
    from plantings.imports.loading import sheet_load
    from registry.models import Person

    before = peak_mb()
    actor, content = Person.objects.get(username="lead"), Path(path).read_bytes()
    taken, plan = processor_seconds(lambda: sheet_load(actor=actor, kind="census", content=content, filename="census.csv"))
    print(json.dumps({"seconds": taken, "before": before, "peak": peak_mb(), "new": plan.counts["new"]}))


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, nargs="+", default=[100_000, 300_000, 1_000_000])
    asked.add_argument("--by-planting", action="store_true")
    asked.add_argument("--load")
    given = asked.parse_args()
    if given.load:
        load(given.load)
        return
    folder = open_book()
    census_import.PLANTINGS, census_import.SEASONS = PLANTINGS, SEASONS
    census_import.book_of_trees()
    from django.db import connection

    connection.close()
    for rows in given.rows:
        copy = folder.with_name(f"{folder.name}-{rows}")
        shutil.copytree(folder, copy)
        try:
            path = copy / "census.csv"
            with path.open("w") as file:
                file.writelines(sheet(rows, given.by_planting))
            environment = os.environ | {"MASTBOOK_DATA_DIR": str(copy)}
            said = subprocess.run(
                [sys.executable, __file__, "--load", str(path)], env=environment, check=True, stdout=subprocess.PIPE
            ).stdout
            found = json.loads(said)
            report(
                f"census import, {rows:,} rows, {path.stat().st_size / 1e6:.0f} MB", stored=f"{found['new']:,}",
                processor_seconds=f"{found['seconds']:.1f}", rows_a_second=f"{rows / found['seconds']:,.0f}",
                peak_MB=f"{found['peak']:.0f} (before: {found['before']:.0f})",
            )  # fmt: skip
            sys.stdout.flush()
        finally:
            shutil.rmtree(copy)


if __name__ == "__main__":
    main()
