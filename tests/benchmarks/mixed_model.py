"""How long the mixed model of lineages takes at 200 lineages × 50 sites × 4 plantings, against the plain logistic model of the same cells.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python tests/benchmarks/mixed_model.py [RUNS]

The counts are invented with known SDs, three trees a cell. The floor fits the same fixed effects without any random ones, by Newton's
steps to the same tolerance. Prints the medians of processor time and their ratio; exit code 1 when the model takes 5 s or more, or an SD
is further than 0.12 from the one the counts were made with.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from plantings.calc.lineages.mixed_model import mixed_fit

LINEAGES, SITES, PLANTINGS, TREES = 200, 50, 4, 3
TRUE = {"site": 0.8, "planting": 0.3, "lineage": 0.5, "lineage on site": 0.4}
TARGET_SECONDS, NEAR = 5, 0.12


def counts():
    random = np.random.default_rng(7)
    site, planting, lineage = (part.ravel() for part in np.meshgrid(*map(np.arange, (SITES, PLANTINGS, LINEAGES)), indexing="ij"))
    factors = {"site": site, "planting": site * PLANTINGS + planting, "lineage": lineage, "lineage on site": site * LINEAGES + lineage}
    eta = 0.5 + sum(random.normal(0, TRUE[name], codes.max() + 1)[codes] for name, codes in factors.items())
    alive = random.binomial(TREES, 1 / (1 + np.exp(-eta)))
    return alive, np.full(len(alive), TREES), np.column_stack([lineage >= 2, lineage < 2]).astype(float), factors


def plain(alive, n, fixed):
    """The floor."""
    beta = np.zeros(fixed.shape[1])
    while True:
        share = 1 / (1 + np.exp(-(fixed @ beta)))
        slopes = fixed.T @ (alive - n * share)
        if np.abs(slopes).max() < 1e-6:
            return beta
        beta = beta + np.linalg.solve(fixed.T @ (fixed * (n * share * (1 - share))[:, None]), slopes)


def seconds(work, runs):
    taken = []
    for _ in range(runs):
        start = time.process_time()
        result = work()
        taken.append(time.process_time() - start)
    return statistics.median(taken), result


def main():
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    alive, n, fixed, factors = counts()
    floor, _ = seconds(lambda: plain(alive, n, fixed), 5 * runs)
    taken, fit = seconds(lambda: mixed_fit(alive, n, fixed, factors, joint_of=("lineage", "site")), runs)
    print(f"{len(alive):,} cells: floor {1000 * floor:.1f} ms, model {taken:.2f} s, {taken / floor:.0f} times the floor")
    print("; ".join(f"{name} {fit.deviations[name]:.3f} (made with {true})" for name, true in TRUE.items()), fit.reason or "converged")
    near = all(abs(fit.deviations[name] - true) < NEAR for name, true in TRUE.items())
    return 0 if taken < TARGET_SECONDS and near and not fit.reason else 1


if __name__ == "__main__":
    sys.exit(main())
