"""How much diversity a group of trees holds: group coancestry, status number, effective number."""

from collections.abc import Sequence

import numpy as np

_SUM_TOLERANCE = 1e-9
_SLACK = 1e-10


def group_coancestry(coancestry: np.ndarray, contributions: Sequence[float] | None = None) -> float:
    """Chance that two genes drawn at random from the group's gene pool are copies of one gene of the founders.

    Parameters
    ----------
    coancestry : ndarray, shape (k, k)
        From `coancestry_matrix`, self-coancestry (1 + F)/2 on the diagonal.
    contributions : sequence of float, length k, optional
        Share of each tree in the pool, summing to 1; equal when left out.

    Returns
    -------
    float, 0 to 1
        Sum over all pairs, each tree with itself too, of p_i p_j theta_ij.

    Raises
    ------
    ValueError
        When the matrix is not square or empty, or the contributions are not k numbers of 0 or more that sum to 1.

    Source
    ------
    Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76.

    Examples
    --------
    >>> group_coancestry(np.array([[0.5, 0.25], [0.25, 0.5]]))
    0.375
    """
    coancestry = _checked_matrix(coancestry)
    k = len(coancestry)
    shares = np.full(k, 1 / k) if contributions is None else _checked(contributions, k)
    return float(shares @ coancestry @ shares)


def status_number(coancestry: np.ndarray, contributions: Sequence[float] | None = None) -> float:
    """Number of unrelated, not inbred trees, contributing equally, whose gene pool would be as diverse as the group's.

    Parameters, Raises
    ------------------
    As `group_coancestry`.

    Returns
    -------
    float
        1/(2 x group coancestry); at most the number of trees.

    Source
    ------
    Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76.

    Examples
    --------
    >>> round(status_number(np.array([[0.5, 0.25], [0.25, 0.5]])), 4)
    1.3333
    """
    return 1 / (2 * group_coancestry(coancestry, contributions))


def effective_number(contributions: Sequence[float]) -> float:
    """Number of equal contributors that would give the same chance of drawing one contributor twice: 1 / sum of p^2.

    Parameters
    ----------
    contributions : sequence of float
        Shares of 0 or more that sum to 1. Kinship is not looked at: see `status_number`.

    Returns
    -------
    float
        1 up to the number of contributors.

    Raises
    ------
    ValueError
        When there are none, or they are not shares that sum to 1.

    Source
    ------
    Kjær 1996, Scand. J. For. Res. 11:425-430 (from memory).

    Examples
    --------
    >>> round(effective_number([0.30, 0.25, 0.20, 0.15, 0.10]), 6)
    4.444444
    """
    return float(1 / np.sum(_checked(contributions, len(contributions)) ** 2))


def sibling_coefficient(contributions: Sequence[float]) -> float:
    """How much likelier two offspring share a parent than with equal contributions: N x sum of p^2 = 1 + CV^2.

    Parameters, Raises
    ------------------
    As `effective_number`.

    Returns
    -------
    float, 1 or more

    Source
    ------
    Kang & El-Kassaby, fertility variation in seed orchards (from memory).

    Examples
    --------
    >>> round(sibling_coefficient([0.30, 0.25, 0.20, 0.15, 0.10]), 6)
    1.125
    """
    return len(contributions) / effective_number(contributions)


def gamete_shares(female: Sequence[float], male: Sequence[float]) -> list[float]:
    """Shares in the pool of all gametes: the mean of those as mother and as father, for each tree.

    Parameters
    ----------
    female, male : sequence of float, equally long
        Shares that sum to 1 in each.

    Returns
    -------
    list of float, 0 to 1
        One for each tree; sums to 1.

    Raises
    ------
    ValueError
        When they differ in length or are not shares that sum to 1.

    Source
    ------
    Every seed has one mother and one father, so both sides count half. Common practice of seed orchards, no source.

    Examples
    --------
    >>> gamete_shares([0.5, 0.5], [1, 0])
    [0.75, 0.25]
    """
    return ((_checked(female, len(female)) + _checked(male, len(female))) / 2).tolist()


def least_coancestry_contributions(coancestry: np.ndarray) -> list[float]:
    """Contributions of the trees that make the group coancestry as small as it can be.

    Parameters
    ----------
    coancestry : ndarray, shape (k, k)
        From `coancestry_matrix`. Of a tree that is in it twice, one entry gets the share of both.

    Returns
    -------
    list of float, length k
        0 or more, summing to 1. A tree whose relatives already hold what it holds may get 0.

    Raises
    ------
    ValueError
        When the matrix is not square, or empty.

    Notes
    -----
    An active set, after Lawson & Hanson: the x of 0 or more that minimises x'Cx/2 - sum of x is, divided by its sum, the
    wanted one, since both have the conditions C x = 1 where x > 0 and C x >= 1 elsewhere.

    Source
    ------
    Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76, for group coancestry; Lawson & Hanson 1974, Solving Least
    Squares Problems, ch. 23 (from memory), for the active set.

    Examples
    --------
    >>> sibs_and_one = np.array([[0.5, 0.25, 0.0], [0.25, 0.5, 0.0], [0.0, 0.0, 0.5]])
    >>> [round(share, 4) for share in least_coancestry_contributions(sibs_and_one)]
    [0.2857, 0.2857, 0.4286]
    """
    coancestry = _checked_matrix(coancestry)
    used = np.ones(len(coancestry), dtype=bool)
    found = _solved(coancestry, used)
    while (found[used] <= 0).any():  # a start without negative shares: the best of those it uses
        used &= found > 0
        found = _solved(coancestry, used)
    while (missing := np.where(used, 0, 1 - coancestry @ found)).max() > _SLACK:
        used[missing.argmax()] = True
        wanted = _solved(coancestry, used)
        while (wanted[used] <= 0).any():
            falling = used & (wanted <= 0)
            step = (found[falling] / (found[falling] - wanted[falling])).min()
            found = found + step * (wanted - found)
            used &= found > _SLACK
            found[~used] = 0
            wanted = _solved(coancestry, used)
        found = wanted
    return (found / found.sum()).tolist()


def _solved(coancestry, used):
    """Where C x = 1 for the used trees, 0 for the others."""
    found = np.zeros(len(coancestry))
    found[used] = np.linalg.lstsq(coancestry[np.ix_(used, used)], np.ones(used.sum()), rcond=None)[0]
    return found


def _checked_matrix(coancestry):
    coancestry = np.asarray(coancestry, dtype=float)
    if coancestry.ndim != 2 or coancestry.shape[0] != coancestry.shape[1] or not len(coancestry):
        raise ValueError(f"Coancestry has the shape {coancestry.shape}. Give a square matrix of at least one tree.")
    return coancestry


def _checked(contributions, k):
    shares = np.asarray(contributions, dtype=float)
    if shares.ndim != 1 or not k or len(shares) != k:
        raise ValueError(f"There are {shares.size} contributions for {k} trees. Give one for each.")
    if not np.isfinite(shares).all() or (shares < 0).any() or abs(shares.sum() - 1) > _SUM_TOLERANCE:
        raise ValueError(f"The contributions sum to {shares.sum():g}. Give shares of 0 or more that sum to 1.")
    return shares
