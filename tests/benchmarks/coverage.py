"""How often the intervals that the site prints hold the truth, what missing trees do to the figures, and whether the order is found.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python tests/benchmarks/coverage.py [--runs 600] [--arms 0 5] [--processes 1] [--database 2]

Programmes with a known truth are drawn as `manage.py simulate` draws them, and the figures are made by the functions that the pages call
(`tests/simulation`). `--database` loads so many of them through their sheets too, and compares every interval. Written as Markdown to the
screen; what was found is in `tests/simulation/COVERAGE.md`.
"""

import argparse
import io
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.benchmarks.temporary_book import open_book
from tests.simulation.adding_up import Sums
from tests.simulation.arms import ARMS, run
from tests.simulation.tables import bias_cell, held_cell, lines_of_tests, matrix, order_line


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--runs", type=int, default=600)
    words.add_argument("--arms", type=int, nargs="+", default=range(len(ARMS)))
    words.add_argument("--processes", type=int, default=1)
    words.add_argument("--database", type=int, default=0, metavar="PROGRAMMES")
    given = words.parse_args()
    if given.database:
        return compare_with_database(given.database)
    measured = {}
    with ProcessPoolExecutor(given.processes) as pool:
        for arm in (ARMS[number] for number in given.arms):
            measured[arm.name] = print_arm(arm, list(pool.map(partial(run, arm), range(given.runs), chunksize=20)))
    print("\n## Held\n\n" + matrix(measured, [*measured], held_cell))
    print("\n## Bias\n\n" + matrix(measured, [*measured], bias_cell))
    return 0


def print_arm(arm, found):
    """Print what was found in the programmes of an arm, and give it back as a list of Held."""
    sums = Sums()
    for pairs, _order, _tests in found:
        sums.add(pairs)
    print(f"\n## {arm.name}\n\n| interval | held | ± | number | mean width | bias | ± | SD |\n|---|---|---|---|---|---|---|---|")
    for one in sums.held():
        numbers = f"{one.width:.3f} | {one.bias:+.4f} | {one.bias_error:.4f} | {one.spread:.3f}"
        print(f"| {one.name} | {one.share:.3f} | {one.error:.3f} | {one.number:,} | {numbers} |")
    print("\n" + order_line([order for _pairs, order, _tests in found if order]))
    print("\n".join(lines_of_tests([test for _pairs, _order, tests in found for test in tests])), flush=True)
    return sums.held()


def compare_with_database(programmes):
    """Load programmes through their sheets as a user would, and compare every interval with that of the same programme drawn in memory."""
    open_book()
    from django.core.management import call_command
    from django.db import transaction

    from tests.simulation.loaded import differences, options, small

    worst = 0.0
    for seed in range(programmes):
        truth = small(seed)
        with tempfile.TemporaryDirectory() as folder, transaction.atomic():
            call_command("simulate", f"{folder}/new", *options(truth, seed), "--load", verbosity=0, stdout=io.StringIO())
            number, apart = differences(truth, seed)
            transaction.set_rollback(True)
        worst = max(worst, apart)
        print(f"programme {seed}: {number:,} intervals, largest difference {apart:.2g}", flush=True)
    return 0 if worst < 1e-9 else 1


if __name__ == "__main__":
    sys.exit(main())
