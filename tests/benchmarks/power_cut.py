"""What it costs that a save survives a power cut: SQLite with synchronous=FULL beside NORMAL, the same saves in one run.

Run by name: `.venv/bin/python tests/benchmarks/power_cut.py [FOLDER]`; FOLDER is on the disk to measure, and should not be in memory.
With NORMAL and a write-ahead log the last saves before a power cut can be missing, although the database is sound; with FULL the log is
forced to the disk before a save is answered (sqlite.org/pragma.html#pragma_synchronous).
"""

import sys
import time

from temporary_book import open_book, report

SAVES = 400
MODES = ("NORMAL", "FULL")


def main():
    open_book(*sys.argv[1:2])
    from django.db import connection

    from registry.services.lots.ledger import ledger_enter
    from tests import factories

    actor = factories.person("lead")
    lot = factories.seed_lot(actor=actor, seeds=10)
    taken = {mode: [] for mode in MODES}
    for number in range(SAVES):
        for mode in MODES:  # in turn, so that both meet the same disk
            with connection.cursor() as cursor:
                cursor.execute(f"PRAGMA synchronous={mode}")
            start = time.perf_counter()
            ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=1, on=factories.day(lot.year), reason=f"{number}")
            taken[mode].append(time.perf_counter() - start)
    medians = {mode: sorted(times)[len(times) // 2] for mode, times in taken.items()}
    for mode, times in taken.items():
        slow = sorted(times)[int(len(times) * 0.99)]
        ratio = medians[mode] / medians["NORMAL"]
        report(mode, saves=SAVES, median_ms=f"{medians[mode] * 1000:.2f}", slow_ms=f"{slow * 1000:.1f}", times_normal=f"{ratio:.2f}")


if __name__ == "__main__":
    main()
