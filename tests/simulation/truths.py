"""What is true of a simulated programme in the terms of each figure: over all sites there could be, or on the sites it has."""

from dataclasses import replace
from math import hypot
from typing import NamedTuple

import numpy as np

from plantings.calc.arrival.agreement_of_classes import LINEAR, UNWEIGHTED, kappa
from plantings.imports.demo.simulated.truth import NATIVE
from registry.calc.orchard.heritability import liability_heritability

_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(30)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()


class Truths(NamedTuple):
    """Arrays lineages × ages, but where said otherwise.

    `anywhere` survival over all sites there could be, `here` over the sites of the programme without the reactions of lineages to them,
    `on_site` on each (sites × lineages × ages); `clear` and `clear_on_site` the share without a canker; `hazards` (lineages) the ratio to
    the native check of trees that are alike; `heights` in cm.
    """

    anywhere: np.ndarray
    here: np.ndarray
    on_site: np.ndarray
    clear: np.ndarray
    clear_on_site: np.ndarray
    hazards: np.ndarray
    heights: np.ndarray
    native: int


def truths_of(truth) -> Truths:
    sites, native = range(truth.size.sites), truth.names.index(NATIVE)
    return Truths(
        truth.survival_anywhere(), replace(truth, interactions=np.zeros_like(truth.interactions)).survival(),
        np.array([truth.survival_on(site) for site in sites]), truth.clear_anywhere(), np.array([truth.clear_on(site) for site in sites]),
        np.exp(truth.values[native] - truth.values), truth.heights_anywhere(), native,
    )  # fmt: skip


def odds_here(shares, checks, n, n_check):
    """What the ratio of Mantel and Haenszel is about: that of these sites with these numbers of trees."""
    weight = n * n_check / (n + n_check)
    return float((weight * shares * (1 - checks)).sum() / (weight * checks * (1 - shares)).sum())


def odds_anywhere(truth):
    """The same over all sites there could be, of each lineage at the last age; by quadrature over the sites."""
    size, wrong = replace(truth.size, sites=len(_NODES), plantings=len(_NODES)), truth.wrong
    moved = replace(
        truth, size=size, sites=_NODES * wrong.site_sd, interactions=np.zeros((len(truth.names), len(_NODES))),
        wrong=replace(wrong, frailty_sd=hypot(wrong.frailty_sd, wrong.interaction_sd)),
    )  # fmt: skip
    shares = np.array([moved.survival_on(site)[:, -1] for site in range(len(_NODES))])
    checks = shares[:, [truth.names.index(NATIVE)]]
    return (_WEIGHTS @ (shares * (1 - checks))) / (_WEIGHTS @ (checks * (1 - shares)))


def heritabilities(truth):
    """(observed, liability) at the last age, of families drawn with the SD of the lineages and taken as half sibs."""
    families = replace(
        truth, names=("",) * len(_NODES), values=_NODES * truth.wrong.lineage_sd, growth_values=np.zeros(len(_NODES))
    ).survival_anywhere()[:, -1]  # fmt: skip
    alive = float(_WEIGHTS @ families)
    observed = 4 * float(_WEIGHTS @ (families - alive) ** 2) / (alive * (1 - alive))
    return observed, liability_heritability(observed, alive)


def status_agreement(alive, mistaken):
    """Kappa of two people who each write the wrong status of a tree with the chance `mistaken`; `alive` is the share truly alive."""
    right = 1 - mistaken
    errors = np.array([[right, mistaken], [mistaken, right]])
    return _kappa_of(errors.T @ np.diag([alive, 1 - alive]) @ errors, UNWEIGHTED)


def class_agreement_of(shares, errors):
    """Kappa with linear weights, where `errors` says which class is written (columns) for which true one (rows)."""
    return _kappa_of(errors.T @ np.diag(shares) @ errors, LINEAR)


def _kappa_of(joint, weights):
    return kappa(np.rint(joint * 1e12).astype(int).tolist(), weights).estimate
