"""p-values of many comparisons, adjusted for their number."""

from collections.abc import Sequence


def holm(p_values: Sequence[float]) -> list[float]:
    """Adjusted so that all rejections together are wrong with at most the chosen probability.

    Parameters
    ----------
    p_values : sequence of float, 0 to 1

    Returns
    -------
    list of float, 0 to 1, in the order given.

    Source
    ------
    Holm 1979, Scand. J. Stat. 6:65-70 (from memory).

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03])
    [0.03, 0.06, 0.06]
    """
    order = sorted(range(len(p_values)), key=p_values.__getitem__)
    found, highest = [0.0] * len(p_values), 0.0
    for place, number in enumerate(order):
        highest = max(highest, min(1.0, (len(p_values) - place) * p_values[number]))
        found[number] = highest
    return found


def benjamini_hochberg(p_values: Sequence[float]) -> list[float]:
    """Adjusted so that, of what is rejected, at most the chosen share is expected to be wrong.

    Parameters
    ----------
    p_values : sequence of float, 0 to 1

    Returns
    -------
    list of float, 0 to 1, in the order given.

    Source
    ------
    Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300.

    Examples
    --------
    >>> [round(p, 2) for p in benjamini_hochberg([0.01, 0.04, 0.03])]
    [0.03, 0.04, 0.04]
    """
    order = sorted(range(len(p_values)), key=p_values.__getitem__, reverse=True)
    found, lowest = [0.0] * len(p_values), 1.0
    for place, number in enumerate(order):
        lowest = min(lowest, p_values[number] * len(p_values) / (len(p_values) - place))
        found[number] = lowest
    return found
