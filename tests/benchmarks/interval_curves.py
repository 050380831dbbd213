"""Life tables of 200 lineages whose plantings miss a census: curves, bands, tests and hazards, beside the life tables alone.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python tests/benchmarks/interval_curves.py

The counts are invented. The floor is `band_over_sites` of as many lives, which puts each death at the next census. Prints processor time and
the ratio; exit code 1 when it takes 2 s or more. No reference library: the estimate of lifelines takes intervals as closed, which is another
curve.
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from plantings.calc.lifetimes.curves import band_over_sites
from plantings.calc.lifetimes.lineage_lives import lineage_lives
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally

LINEAGES, SITES, AGES, TREES = 200, 50, 8, 20
SITES_EACH = 6
TARGET_SECONDS = 2


def tallies():
    """{age: tallies} of lineages on six sites each, half of the plantings without a census of one age."""
    random = np.random.default_rng(11)
    by_age = {age: [] for age in range(1, AGES + 1)}
    lots = [(f"L{number}", site, "") for number in range(LINEAGES) for site in random.choice(SITES, SITES_EACH, replace=False)]
    lots += [(f"check {site}", site, NATIVE) for site in range(SITES)]
    missed = {site: int(random.integers(2, AGES)) if site % 2 else None for site in range(SITES)}
    for lineage, site, standard in lots:
        alive, hazard = TREES, 0.15 if standard else random.uniform(0.04, 0.15)
        for age in range(1, AGES + 1):
            alive -= int(random.binomial(alive, hazard))
            if age != missed[site]:
                counts = Counts(planted=TREES, alive=alive, dead=TREES - alive)
                role = "check" if standard else "test"
                by_age[age].append(Tally((lineage,), role, f"S{site}", f"P{site}", lineage, standard, False, True, list(counts)))
    return by_age


def seconds(run):
    began = time.process_time()
    found = run()
    return time.process_time() - began, found


def main():
    by_age = tallies()
    lineage_lives({age: some[:9] for age, some in by_age.items()})  # what is imported at the first use
    took, lives = seconds(lambda: lineage_lives(by_age))
    random = np.random.default_rng(3)
    at_risk = np.full((SITES_EACH, AGES), TREES)
    deaths = random.binomial(3, 0.3, (SITES_EACH, AGES))
    floor, _ = seconds(lambda: [band_over_sites(deaths, at_risk) for _ in range(2 * LINEAGES)])
    gaps = sum(one.gaps for one in lives.lineages)
    print(f"{LINEAGES} lineages × {SITES_EACH} of {SITES} sites × {AGES} ages, {gaps} with gaps: {took:.2f} s of processor time")
    print(f"life tables with their bands alone: {floor:.2f} s, ratio {took / floor:.1f}")
    return 0 if took < TARGET_SECONDS else 1


if __name__ == "__main__":
    sys.exit(main())
