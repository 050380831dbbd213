"""An unrelated save while another process loads a census of 100,000 rows: how long does it wait?

Run by name: `.venv/bin/python tests/benchmarks/save_beside_load.py [--rows N] [--every SECONDS] [--postgresql]`. The load is the command, as
a person starts it. Beside it somebody changes the note of a partner: once, and otherwise only begins a save again and again, or with `--every`
saves all the time. Target: no save waits over 2 seconds, none is refused. The floor is the same save while nobody loads.
"""

import argparse
import os
import statistics
import subprocess
import sys
import time

import census_import
from temporary_book import open_book, report


def save(actor, partner, number):
    """Seconds of one save; None where it was refused."""
    from registry.services.audit.busy import Busy
    from registry.services.shared.records import record_save

    partner.note = f"Note {number}"
    start = time.perf_counter()
    try:
        record_save(actor=actor, obj=partner)
    except Busy:
        return None
    return time.perf_counter() - start


def run(rows, every, folder):
    from plantings.models import Observation
    from tests import factories

    census_import.PLANTINGS = rows // census_import.TREES_EACH
    actor = census_import.book_of_trees()
    partner = factories.partner()
    floor = statistics.median(save(actor, partner, number) for number in range(20))
    path = folder / "census.csv"
    path.write_bytes(census_import.sheet(1))
    start = time.perf_counter()
    load = subprocess.Popen([sys.executable, "manage.py", "load", "census", str(path)], stderr=subprocess.DEVNULL)
    saves, due = [], start + min(every or 5, 5)
    while load.poll() is None:
        if time.perf_counter() >= due:
            saves.append(save(actor, partner, len(saves)))
            due = time.perf_counter() + (every or 3600)
        elif not every:
            saves.append(waited())  # as long as a save, but nothing changes
        time.sleep(0.02)
    told(rows, time.perf_counter() - start, floor, saves, load.returncode, Observation.objects.count())


def waited():
    """Seconds until a write can begin; nothing is saved."""
    from contextlib import ExitStack

    from django.db import transaction

    from registry.services.audit.busy import Busy, begin_write

    start = time.perf_counter()
    try:
        with ExitStack() as stack:
            begin_write(stack)
            transaction.set_rollback(True)
    except Busy:
        return None
    return time.perf_counter() - start


def told(rows, taken, floor, saves, code, stored):
    done = [seconds for seconds in saves if seconds is not None]
    report(
        f"saves beside a load of {rows:,} rows", load_seconds=f"{taken:.1f}", exit_code=code, stored=f"{stored:,}", saves=len(saves),
        refused=len(saves) - len(done), longest_wait_s=f"{max(done, default=0):.2f}", floor_s=f"{floor:.3f}",
    )  # fmt: skip


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--rows", type=int, default=100_000)
    asked.add_argument("--every", type=float, default=0)
    asked.add_argument("--postgresql", action="store_true")
    given = asked.parse_args()
    os.chdir(os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__)))))
    if not given.postgresql:
        run(given.rows, given.every, open_book())
        return
    sys.path.insert(0, os.getcwd())
    from tests.prove import postgresql

    with postgresql() as url:
        run(given.rows, given.every, open_book(database_url=url))


if __name__ == "__main__":
    main()
