"""How often the checks of a fitted model fail where the model is right, and where it is wrong: of lineages, and of growth.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python tests/benchmarks/model_check.py [RUNS] [lineages|growth]

The counts and heights are invented: right; with one wrong cell; with more spread between plantings, or skewed means of cells. Prints a line
for each, and the time of the check at 200 lineages × 50 sites × 4 plantings; exit code 1 when a right model fails in more than 5 of 100
runs and three standard errors of that.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from plantings.calc.fits.check import FAILS_BELOW, binomial_residuals, fit_check
from plantings.calc.growth.linear_model import GrowthCell, linear_fit, linear_residuals
from plantings.calc.lineages.mixed_model import mixed_fit
from tests.benchmarks.mixed_model import counts

TRUE = {"site": 0.8, "lineage": 0.5, "planting": 0.3, "lineage on site": 0.3}
# lineages, sites, plantings, trees a cell
DESIGNS = ((10, 8, 2, 15), (10, 8, 1, 15), (12, 6, 2, 4), (6, 4, 1, 30))
GROWTH_DESIGNS = ((8, 10, 5), (20, 6, 10), (5, 3, 8))


def of_lineages(random, design, wrong):
    """The check of one invented set of counts; None where the model does not converge."""
    lineages, sites, plantings, trees = design
    shape = np.meshgrid(range(sites), range(plantings), range(lineages), indexing="ij")
    site, planting, lineage = (part.ravel() for part in shape)
    kept = random.random(len(site)) < 0.85
    factors = {"site": site, "lineage": lineage, "lineage on site": site * lineages + lineage}
    if plantings > 1:
        factors["planting"] = site * plantings + planting
    eta = 0.5 + sum(random.normal(0, TRUE[name], codes.max() + 1)[codes] for name, codes in factors.items())
    eta += random.normal(0, 0.8, len(eta)) * (wrong == "spread")
    n = random.integers(max(1, trees // 2), trees * 3 // 2 + 1, len(eta))
    alive, n = random.binomial(n, 1 / (1 + np.exp(-eta)))[kept], n[kept]
    factors = {name: np.unique(codes[kept], return_inverse=True)[1] for name, codes in factors.items()}
    if wrong == "cell":
        alive[np.argmax(alive)] = 0
    fit = mixed_fit(alive, n, np.ones((len(n), 1)), factors, nodes=25)
    return None if fit.reason else fit_check(binomial_residuals(alive, n, fit.logits, fit.logit_variances), None)


def of_growth(random, design, wrong):
    """The check of one invented set of heights in cm."""
    lineages, sites, trees = design
    of_site, cells = random.normal(0, 20, sites), []
    for line in range(lineages):
        for site in range(sites):
            if random.random() < 0.15:
                continue
            values = 150 + 3 * line + of_site[site] + random.normal(0, 4) + random.normal(0, 15, trees)
            values += random.exponential(25) * (wrong == "skewed") + 60 * (wrong == "cell" and not cells)
            cells.append(GrowthCell(f"L{line}", f"S{site}", trees, values.mean(), ((values - values.mean()) ** 2).sum()))
    fit = linear_fit(cells)
    return None if fit.reason else fit_check(linear_residuals(cells, fit)[0], None, with_skewness=True)


def rates(name, of_one, designs, kinds, runs):
    """Print how often the check fails; the largest rate of a right model."""
    highest = 0.0
    for design in designs:
        for wrong in kinds:
            random = np.random.default_rng(127)
            found = [one for one in (of_one(random, design, wrong) for _ in range(runs)) if one]
            failed = sum(not one.fits for one in found) / len(found)
            beyond, expected = (np.mean([getattr(one, part) for one in found]) for part in ("beyond", "expected"))
            print(
                f"{name} {design} {wrong or 'right'}: {failed:.2f} of {len(found)} fail; beyond {beyond:.2f}, expected {expected:.2f}",
                flush=True,
            )
            highest = max(highest, 0 if wrong else failed)
    return highest


def main():
    runs, which = int((sys.argv[1:] or [40])[0]), sys.argv[2:]
    highest = 0.0
    if "growth" not in which:
        alive, n, fixed, factors = counts()
        fit = mixed_fit(alive, n, fixed, factors)
        start = time.process_time()
        fit_check(binomial_residuals(alive, n, fit.logits, fit.logit_variances), None)
        print(f"{len(n):,} cells checked in {time.process_time() - start:.2f} s", flush=True)
        highest = rates("lineages", of_lineages, DESIGNS, ("", "cell", "spread"), runs)
    if "lineages" not in which:
        highest = max(highest, rates("growth", of_growth, GROWTH_DESIGNS, ("", "cell", "skewed"), 5 * runs))
    return int(highest > FAILS_BELOW + 3 * np.sqrt(FAILS_BELOW * (1 - FAILS_BELOW) / runs))


if __name__ == "__main__":
    sys.exit(main())
