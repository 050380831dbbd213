"""How often the 95 % intervals over sites hold the truth, by simulation: the tables in the docstrings of `calc/survival/over_sites.py`.

    .venv/bin/python tests/benchmarks/coverage_over_sites.py [RUNS A CELL]

Sites are drawn from a population of sites; the truth is the mean over that population. An error of 0.7 points either way is chance
at 1,000 runs a cell.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from plantings.calc.survival.over_sites import difference_over_sites, share_over_sites

SITES = (3, 6, 12, 30)
UNEVEN = (0.3, 0.6, 1.0, 1.5, 2.6)
SHARES, LIKENESS = (0.5, 0.7), (0.0, 0.05, 0.1, 0.3)
# trees under test and check trees a site, survival at the middle site, even or uneven sites
DESIGNS = (
    (5, 3, 0.95, False), (10, 4, 0.9, False), (10, 4, 0.6, False), (20, 10, 0.6, False), (60, 15, 0.6, False),
    (60, 15, 0.6, True), (20, 10, 0.9, True),
)  # fmt: skip
SITE_SD, INTERACTIONS = 1.0, (0.0, 0.5, 1.0)


def sizes(trees, sites, uneven):
    factors = np.resize(UNEVEN, sites) if uneven else np.ones(sites)
    return np.maximum(1, np.round(trees * factors)).astype(int)


def share_cell(random, runs, sites, share, likeness, trees, uneven):
    """The share of runs whose interval holds the true share; trees within a site are alike by a beta distribution."""
    n = sizes(trees, sites, uneven)
    held = 0
    for _ in range(runs):
        if likeness:
            spread = (1 - likeness) / likeness
            of_site = random.beta(share * spread, (1 - share) * spread, sites)
        else:
            of_site = np.full(sites, share)
        found = share_over_sites(random.binomial(n, of_site).tolist(), n.tolist())
        held += found.low <= share <= found.high
    return held / runs


def difference_cell(random, runs, sites, design, interaction):
    trees, checks, share, uneven = design
    n, n_check = sizes(trees, sites, uneven), sizes(checks, sites, uneven)
    middle = np.log(share / (1 - share))
    truth = true_difference(random, middle, interaction)
    held = 0
    for _ in range(runs):
        test, check = site_shares(random, sites, middle, interaction)
        x, x_check = random.binomial(n, test), random.binomial(n_check, check)
        found = difference_over_sites(x.tolist(), n.tolist(), x_check.tolist(), n_check.tolist())
        held += found.low <= truth <= found.high
    return held / runs


def site_shares(random, sites, middle, interaction):
    """Survival of the lineage and of the check on each site: alike on average, both moved by the site, the lineage by its own reaction too."""
    site = random.normal(0, SITE_SD, sites)
    own = random.normal(0, interaction, sites) if interaction else 0
    return logistic(middle + 0.5 + site + own), logistic(middle + site)


def true_difference(random, middle, interaction):
    test, check = site_shares(random, 400_000, middle, interaction)
    return float(np.mean(test - check))


def logistic(x):
    return 1 / (1 + np.exp(-x))


def print_range(name, sites, cells):
    print(f"{name:<32} {sites:>3} sites  {min(cells):.3f} to {max(cells):.3f}  ({len(cells)} cells)", flush=True)


def main(runs=1000):
    random = np.random.default_rng(20261129)
    layouts = [(trees, uneven) for trees in (10, 20, 35) for uneven in (False, True)]
    for sites in SITES:
        cells = [share_cell(random, runs, sites, share, alike, *layout) for share in SHARES for alike in LIKENESS for layout in layouts]
        print_range("share 0.5 and 0.7", sites, cells)
    cells = [
        share_cell(random, runs, sites, 0.95, alike, 20, uneven) for sites in SITES for alike in (0.1, 0.3) for uneven in (False, True)
    ]
    print_range("share 0.95, likeness 0.1 and 0.3", 0, cells)
    for sites in SITES:
        cells = [difference_cell(random, runs, sites, design, interaction) for design in DESIGNS for interaction in INTERACTIONS]
        print_range("difference from the check", sites, cells)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
