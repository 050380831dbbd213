"""Counts drawn from the mixed model itself: whether its estimates, which the shrunken values are made of, hold what they were drawn with."""

from collections.abc import Iterator
from math import exp

import numpy as np

from plantings.calc.lineages.mixed_model import mixed_fit
from tests.simulation.intervals import Pair

LINEAGES, SITES, TREES, KINDS = 12, 8, 15, (0.6, -0.4)  # KINDS: under test, native check, on the logit scale
SDS = {"site": 0.8, "lineage": 0.5, "lineage on site": 0.3}
Z = 1.959964
NAMES = (
    "fixed effect of the mixed model", "effect of a lineage in the mixed model", "SD of sites in the mixed model",
    "SD of lineages in the mixed model", "SD of reactions in the mixed model",
)  # fmt: skip


def model_pairs(seed) -> Iterator[Pair]:
    """Pairs of one set of counts; a factor that the fit puts at 0 has an estimate of 0 without a span, and holds nothing."""
    random = np.random.default_rng([seed, 10])
    site, group = (part.ravel() for part in np.meshgrid(np.arange(SITES), np.arange(LINEAGES + 1), indexing="ij"))
    factors = {"site": site, "lineage": np.where(group < LINEAGES, group, -1), "lineage on site": site * (LINEAGES + 1) + group}
    effects = {name: random.normal(0, sd, factors[name].max() + 1) for name, sd in SDS.items()}
    design = np.column_stack([group < LINEAGES, group == LINEAGES]).astype(float)
    of_lineage = np.where(group < LINEAGES, effects["lineage"][group % LINEAGES], 0)
    eta = design @ KINDS + effects["site"][site] + of_lineage + effects["lineage on site"][factors["lineage on site"]]
    fit = mixed_fit(
        random.binomial(TREES, 1 / (1 + np.exp(-eta))), np.full(len(eta), TREES), design, factors, joint_of=("lineage",), nodes=25
    )  # fmt: skip
    fixed, of_lineages, *of_sds = NAMES
    if fit.reason:
        return
    for estimate, error, true in zip(fit.fixed, fit.fixed_errors, KINDS, strict=True):
        yield Pair(fixed, estimate, estimate - Z * error, estimate + Z * error, true)
    if "lineage" in fit.joint:
        errors = np.sqrt(np.diag(fit.joint["lineage"])[len(KINDS) :])
        for estimate, error, true in zip(fit.modes["lineage"], errors, effects["lineage"], strict=True):
            yield Pair(of_lineages, estimate, estimate - Z * error, estimate + Z * error, true)
    for name, (factor, true) in zip(of_sds, SDS.items(), strict=True):
        estimate, error = fit.deviations[factor], fit.log_errors.get(factor, 0.0)
        yield Pair(name, estimate, estimate * exp(-Z * error), estimate * exp(Z * error), true)
