"""`verify` over a million census records: its time, and the memory it takes beside that of a start.

Run by name: `.venv/bin/python tests/benchmarks/verify.py [PLANTINGS]`, each of 1,000 trees and 8 censuses. The floor is reading the same
rows as bare tuples. Target: memory that does not grow with the number of records.
"""

import os
import subprocess
import sys

import census_import
from temporary_book import open_book, report

SEASONS = 8
ALONE = """
import resource, time
import django
django.setup()
from plantings.models import Observation
from registry.selectors.audit.verify import verify_book
peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
began, before = time.perf_counter(), peak()
rows = sum(1 for _ in Observation.objects.order_by("pk").values_list().iterator(chunk_size=500))
floor, before = time.perf_counter() - began, max(before, peak())
began = time.perf_counter()
faults = [fault for check in verify_book() for fault in check.faults]
taken = time.perf_counter() - began
print(f"{rows:,} records, {len(faults)} faults, {taken:.1f} s, {taken / floor:.1f} times the floor, {peak():.0f} MB (before: {before:.0f})")
"""


def main():
    census_import.PLANTINGS = int(sys.argv[1]) if len(sys.argv) > 1 else 125
    open_book()
    actor = census_import.book_of_trees()
    from plantings.imports.loading import sheet_load
    from plantings.models import Planting
    from tests import factories

    for planting in Planting.objects.all():
        for season in range(3, SEASONS + 1):
            factories.census_round(planting, season, label=f"season {season}")
    for season in range(1, SEASONS + 1):
        sheet_load(actor=actor, kind="census", content=census_import.sheet(season), filename="census.csv")
    done = subprocess.run([sys.executable, "-c", ALONE], env=os.environ, cwd=census_import.__file__.rpartition("/tests/")[0], check=True,
                          capture_output=True, text=True)  # fmt: skip
    report("verify", seen=done.stdout.strip())


if __name__ == "__main__":
    main()
