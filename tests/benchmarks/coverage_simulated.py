"""How often the intervals that the site prints hold the truth, what missing trees do to the figures, and whether the order is found.

    python tests/benchmarks/coverage_simulated.py [--runs 20] [--sites 6 12] [--missing 0 0.1 0.3]

Each run makes a programme with `manage.py simulate`, loads its sheets as a user would, reads survival and the lineages at the last age
from the selectors of the pages, and is rolled back. The truth is the mean over all sites there could be, of which those of the run are a
sample. Printed for each cell: of the lineages under test, how often the interval of survival, of the difference from the native check and
of the shrunken difference held it; the mean error of survival, and of both ends of its band against the trees that truly lived; the rank
correlation of the order with the truth, and how often the first of the order is truly in the best quarter.
"""

import argparse
import io
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from tests.benchmarks.temporary_book import open_book, seconds

ROUNDS, LINEAGES = 3, 8


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--runs", type=int, default=20)
    words.add_argument("--sites", type=int, nargs="+", default=[6, 12])
    words.add_argument("--missing", type=float, nargs="+", default=[0.0, 0.1, 0.3])
    given = words.parse_args()
    open_book()
    for sites in given.sites:
        for missing in given.missing:
            taken, found = seconds(lambda sites=sites, missing=missing: [one_run(sites, missing, seed) for seed in range(given.runs)])
            print_cell(sites, missing, found, taken / given.runs)


def one_run(sites, missing, seed):
    """(survival held, difference held, shrunken held, error, band's low end, band's high end) of each lineage, and (rank, first is good)."""
    from django.core.management import call_command
    from django.db import transaction

    from plantings.imports.demo.simulated.truth import Size, Wrong, draw_truth

    size = Size(sites=sites, plantings=sites, lineages=LINEAGES, lots=LINEAGES, entries=LINEAGES, trees=100, rounds=ROUNDS)
    truth = draw_truth(size, Wrong(missing=missing), seed)
    options = [f"--{name}={getattr(size, name)}" for name in ("sites", "plantings", "lineages", "lots", "entries", "trees", "rounds")]
    with tempfile.TemporaryDirectory() as folder, transaction.atomic():
        call_command(
            "simulate", f"{folder}/new", *options, f"--missing={missing}", f"--seed={seed}", "--load", verbosity=0, stdout=io.StringIO()
        )
        result = read(truth, seed)
        transaction.set_rollback(True)
    return result


def read(truth, seed):
    from plantings.calc.survival.census_choice import AGE, CensusChoice
    from plantings.imports.demo.simulated.lives import draw_planting
    from plantings.imports.demo.simulated.truth import NATIVE
    from plantings.selectors.survival.lineages import lineage_comparison
    from plantings.selectors.survival.survival import SurvivalFilter
    from registry.models import Person

    comparison = lineage_comparison(Person.objects.get(), "source", CensusChoice(AGE, ROUNDS), SurvivalFilter()).comparison
    anywhere = truth.survival_anywhere()[:, -1]
    native = anywhere[truth.names.index(NATIVE)]
    drawn = [draw_planting(truth, number, seed) for number in range(truth.size.plantings)]
    rows = []
    for lineage in (*comparison.ranked, *comparison.unranked):
        number = truth.names.index(lineage.label)
        row, true = lineage.row, anywhere[number]
        lived = np.mean(np.concatenate([planting.alive[planting.lineages == number, -1] for planting in drawn]))
        rows.append(
            (
                holds(row, true), holds(row.difference, true - native), holds(lineage.shrunk and lineage.shrunk.difference, true - native),
                row.share - lived, row.band_low - lived, row.band_high - lived,
            )
        )  # fmt: skip
    order = [truth.values[truth.names.index(lineage.label)] for lineage in comparison.ranked]
    best = np.sort(truth.values[:LINEAGES])[-LINEAGES // 4]
    rank = np.corrcoef(ranks(order), -np.arange(len(order)))[0, 1] if len(order) > 2 else np.nan
    return rows, rank, bool(order and order[0] >= best)


def holds(interval, true):
    """1 or 0; not a number where the page gives no interval."""
    if interval is None or interval.low is None:
        return np.nan
    return float(interval.low <= true <= interval.high)


def ranks(values):
    return np.argsort(np.argsort(values))


def print_cell(sites, missing, found, each):
    rows = np.array([row for rows, _rank, _first in found for row in rows], float)
    held = [f"{np.nanmean(column):.3f} of {np.isfinite(column).sum()}" for column in rows.T[:3]]
    errors = [f"{mean:+.3f}" for mean in rows.T[3:].mean(axis=1)]
    outside = np.mean((rows[:, 4] > 1e-9) | (rows[:, 5] < -1e-9))
    print(
        f"{sites:>3} sites, {missing:.2f} missing: survival held {held[0]}, difference {held[1]}, shrunken {held[2]}; error {errors[0]}, "
        f"band {errors[1]} to {errors[2]}, outside it {outside:.3f}; order {np.nanmean([rank for _rows, rank, _first in found]):.2f}, "
        f"first truly in the best quarter {np.mean([first for _rows, _rank, first in found]):.2f}; {each:.1f} s a run",
        flush=True,
    )


if __name__ == "__main__":
    main()
