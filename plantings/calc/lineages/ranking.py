"""How sure a place in an order is: the chance that a lineage is among the best, or the worst, of those compared."""

from typing import NamedTuple

import numpy as np

DRAWS, SEED = 10_000, 20_260
SHARE_BEST = 0.25


class PlaceChances(NamedTuple):
    """For each lineage the chance, 0 to 1, to be among the `places` best and among the `places` worst."""

    best: np.ndarray
    worst: np.ndarray
    places: int


def normal_draws(means: np.ndarray, covariance: np.ndarray, draws: int = DRAWS, seed: int = SEED) -> np.ndarray:
    """True values that agree with estimates and their covariance.

    Parameters
    ----------
    means : array, one a lineage
    covariance : array, lineages × lineages
        Of the estimates' errors, in the square of their unit.
    draws : int
        How many sets of values.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    ndarray, draws × lineages, in the unit of the means.

    Source
    ------
    Multivariate normal draws: common practice, no source.
    """
    random = np.random.default_rng(seed)
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.clip(values, 0, None))
    return np.asarray(means) + random.standard_normal((draws, len(means))) @ root.T


def beta_draws(alpha: np.ndarray, beta: np.ndarray, draws: int = DRAWS, seed: int = SEED) -> np.ndarray:
    """True shares that agree with independent beta distributions.

    Parameters
    ----------
    alpha, beta : arrays above 0, one a lineage
    draws : int
        How many sets of values.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    ndarray, draws × lineages, 0 to 1.

    Source
    ------
    Common practice, no source.
    """
    return np.random.default_rng(seed).beta(alpha, beta, (draws, len(alpha)))


def place_chances(values: np.ndarray, share: float = SHARE_BEST) -> PlaceChances:
    """How often each lineage is among the best and among the worst.

    Parameters
    ----------
    values : array, draws × lineages
        From `normal_draws` or `beta_draws`; a greater value is better.
    share : float
        Between 0 and 1/2: which part of the lineages is the best, and the worst. The number is rounded up, one or more.

    Returns
    -------
    PlaceChances
        With 10,000 draws a chance is off by 0.01 or less in 19 of 20 cases.

    Raises
    ------
    ValueError
        When share lies outside (0, 1/2].

    Source
    ------
    Ranks of true values rather than of estimates: Goldstein & Spiegelhalter 1996, J. R. Stat. Soc. A 159:385-443 (from memory).

    Examples
    --------
    >>> place_chances(np.array([[3.0, 1.0, 2.0, 0.0], [3.0, 2.0, 1.0, 0.0]])).best.tolist()
    [1.0, 0.0, 0.0, 0.0]
    """
    if not 0 < share <= 0.5:
        raise ValueError(f"The best share is {share:g}. Give a share above 0 and up to 1/2.")
    draws, lineages = values.shape
    places = max(1, int(np.ceil(round(share * lineages, 9))))
    order = np.argsort(values, axis=1)
    best = np.bincount(order[:, lineages - places :].reshape(-1), minlength=lineages) / draws
    worst = np.bincount(order[:, :places].reshape(-1), minlength=lineages) / draws
    return PlaceChances(best, worst, places)
