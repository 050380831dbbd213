"""How sure a place in an order is: the chance that a lineage is among the best, or the worst, of those compared."""

from typing import NamedTuple

import numpy as np

DRAWS, SEED = 10_000, 20_260
DRAWN_MOST = 250  # of more lineages than these, draws tell where the best and the worst end, and no more
LIMITS_DRAWN = 120_000  # values drawn then
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


def beta_place_chances(alpha: np.ndarray, beta: np.ndarray, share: float = SHARE_BEST) -> PlaceChances:
    """As `place_chances` of `beta_draws`, and for many lineages in a fraction of their time.

    Parameters
    ----------
    alpha, beta : arrays above 0, one a lineage
    share : float
        As in `place_chances`.

    Returns
    -------
    PlaceChances

    Raises
    ------
    ValueError
        When share lies outside (0, 1/2].

    Notes
    -----
    A lineage is among the best where its value is above the last but `places` of the others. Of more than `DRAWN_MOST` lineages that limit
    is drawn, and the chance to be above each limit is that of the beta distribution, so that a few hundred limits tell as much as 10,000
    draws. On 300 to 2,000 lineages like those of `simulate` a chance was off by 0.003 (standard deviation) at most, with 10,000 draws by
    0.005 (see the tests).

    Source
    ------
    Averaging conditional probabilities in place of counting draws: Gelfand & Smith 1990, J. Am. Stat. Assoc. 85:398-409 (from memory).
    """
    from scipy.special import betainc

    lineages = len(alpha)
    if lineages <= DRAWN_MOST:
        return place_chances(beta_draws(alpha, beta), share)
    if not 0 < share <= 0.5:
        raise ValueError(f"The best share is {share:g}. Give a share above 0 and up to 1/2.")
    places = max(1, int(np.ceil(round(share * lineages, 9))))
    values = beta_draws(alpha, beta, -(-LIMITS_DRAWN // lineages))
    ends = [places - 1, places, lineages - places - 1, lineages - places]
    last_worst, next_worst, next_best, last_best = np.partition(values, ends, axis=1)[:, ends].T[:, :, None]
    # of the others, so a lineage that is among the best itself leaves its place to the next
    best = 1 - betainc(alpha, beta, np.where(values >= last_best, next_best, last_best))
    worst = betainc(alpha, beta, np.where(values <= last_worst, next_worst, last_worst))
    return PlaceChances(best.mean(axis=0), worst.mean(axis=0), places)
