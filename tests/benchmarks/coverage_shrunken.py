"""How often the 95 % interval of a shrunken difference holds the truth, and how often the chances of a place come true, by simulation.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python tests/benchmarks/coverage_shrunken.py [RUNS A CELL]

Lineages and sites are drawn again in each run, with the SDs of the cell on the logit scale; the truth is the mean over the sites of the run of
survival of the lineage less that of the native check, without the reactions to single sites. With 12 lineages and 100 runs the error
of a share is 1 to 2 points. A cell where the model finds no spread among the lineages is in its interval, and in no chance.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from plantings.calc.lineages.compare import MODEL, compare_lineages
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally

LINEAGES = 12
# sites, trees of a lineage a site, SD of lineages, SD of their reactions
CELLS = ((4, 15, 0.5, 0.3), (8, 15, 0.5, 0.0), (8, 15, 0.5, 0.3), (8, 5, 0.5, 0.3), (8, 15, 0.2, 0.3), (16, 15, 0.5, 0.6))
SITE_SD, NATIVE_AT, TEST_AT = 0.8, -0.4, 0.6


def share(eta):
    return 1 / (1 + np.exp(-eta))


def run(random, sites, trees, spread, reaction):
    """(truth of each lineage, the comparison)."""
    ease, effects = random.normal(0, SITE_SD, sites), random.normal(0, spread, LINEAGES)
    tallies = []
    for site in range(sites):
        for group in range(LINEAGES + 1):
            native = group == LINEAGES
            eta = ease[site] + random.normal(0, reaction) + (NATIVE_AT if native else TEST_AT + effects[group])
            alive = int(random.binomial(trees, share(eta)))
            counts = Counts(planted=trees, alive=alive, dead=trees - alive, alive_then=alive, assessed_then=trees)
            role, standard = ("check", NATIVE) if native else ("test", "")
            tallies.append(Tally((f"{group:02}",), role, f"S{site}", f"P{site}", f"{group:02}", standard, False, True, list(counts)))
    truth = [float((share(TEST_AT + effect + ease) - share(NATIVE_AT + ease)).mean()) for effect in effects]
    return truth, compare_lineages(tallies)


def main():
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    random = np.random.default_rng(11)
    print("sites trees lineages reactions: intervals that held; observed best in the best quarter; mean chance given for it; no spread")
    for cell in CELLS:
        held = total = first = 0
        chances, flat = [], 0
        for _ in range(runs):
            truth, found = run(random, *cell)
            if found.method != MODEL:
                continue
            flat += not found.places
            for place, one in enumerate(found.ranked):
                value = truth[int(one.label)]
                held += one.shrunk.difference.low <= value <= one.shrunk.difference.high
                total += 1
                if place == 0 and found.places:
                    first += value >= sorted(truth)[-found.places]
                    chances.append(one.shrunk.best)
        came = f"{first / len(chances):.2f}, {np.mean(chances):.2f}" if chances else "–"
        print(f"{cell}: {held / total:.3f}; {came}; {flat / runs:.2f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
