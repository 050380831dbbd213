"""The spread of single trees about the average of a backcross generation, and what stays linked to a selected gene."""

from collections.abc import Sequence
from math import comb, exp, expm1, sqrt

_SERIES_BELOW = 1e-3


def donor_share_variance(backcrosses: int, chromosome_morgan: Sequence[float]) -> float:
    """Variance of the donor share among trees of an unselected backcross generation.

    Parameters
    ----------
    backcrosses : int, 1 or more
        Backcrosses after the F1, t.
    chromosome_morgan : sequence of float
        Length of each chromosome of the map, Morgan, above 0. Chromosomes are independent and weighted by length.

    Returns
    -------
    float
        Variance of the share of the whole genome, whose mean is (1/2)^(t+1). That of the heterozygous share is 4 times this.

    Raises
    ------
    ValueError
        When a value is outside its range.

    Notes
    -----
    No interference; donor and native trees differ everywhere; no selection. Selected trees hold more around the selected loci.

    Source
    ------
    Hill 1993, J. Hered. 84:212-213.

    Examples
    --------
    >>> round(4 * donor_share_variance(1, [1.0]), 8)
    0.14191691
    """
    _check_backcrosses(backcrosses)
    lengths = list(chromosome_morgan)
    if not lengths or not all(0 < length < float("inf") for length in lengths):
        raise ValueError("The chromosome map needs at least one chromosome, each with a length above 0 Morgan.")
    # l^2 times the variance of one chromosome, so that the weights l/sum(l) need no further factor
    total = sum(
        comb(backcrosses, n) * _covered(2 * n * length) / (2 * n * n) for length in lengths for n in range(1, backcrosses + 1)
    )  # fmt: skip
    return total / 4 ** (backcrosses + 1) / sum(lengths) ** 2


def _covered(x):
    """x - 1 + exp(-x), by its series where the difference would lose its digits."""
    if x < _SERIES_BELOW:
        return x * x / 2 - x**3 / 6 + x**4 / 24
    return x + expm1(-x)


def native_share_range(backcrosses: int, chromosome_morgan: Sequence[float]) -> tuple[float, float]:
    """Between what native shares most single trees of a backcross generation lie: two standard deviations about the mean.

    Parameters, Raises
    ------------------
    As `donor_share_variance`.

    Returns
    -------
    (low, high), within 1/2 and 1
        About 95 in 100 trees in early generations. In late ones the shares are skewed towards low values;
        at least 3 in 4 lie within whatever their distribution (Chebyshev).

    Source
    ------
    Hill 1993, J. Hered. 84:212-213, for the standard deviation.

    Examples
    --------
    >>> [round(end, 3) for end in native_share_range(3, [1.0] * 12)]
    [0.874, 1.0]
    """
    mean = 1 - 0.5 ** (backcrosses + 1)
    spread = 2 * sqrt(donor_share_variance(backcrosses, chromosome_morgan))
    return max(0.5, mean - spread), min(1.0, mean + spread)


def donor_segment_morgan(backcrosses: int, left_morgan: float, right_morgan: float) -> float:
    """Expected length of the donor segment that still surrounds a selected donor gene.

    Parameters
    ----------
    backcrosses : int, 1 or more
        In each of which the gene was selected, t.
    left_morgan, right_morgan : float, 0 or more
        From the gene to either end of the chromosome.

    Returns
    -------
    float, Morgan
        The one unbroken segment; other donor pieces on the chromosome are not in it.

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Hanson 1959; Stam & Zeven 1981, Euphytica 30:227-238.

    Examples
    --------
    >>> round(100 * donor_segment_morgan(6, 0.5, 0.5), 3)
    31.674
    """
    _check_backcrosses(backcrosses)
    _check_sides(left_morgan, right_morgan)
    return sum((1 - exp(-backcrosses * side)) / backcrosses for side in (left_morgan, right_morgan))


def donor_on_carrier_morgan(backcrosses: int, left_morgan: float, right_morgan: float) -> float:
    """Expected length of all donor pieces on the chromosome that carries a selected donor gene, joined to it or not.

    Parameters
    ----------
    backcrosses : int, 1 or more
        In each of which the gene was selected, t.
    left_morgan, right_morgan : float, 0 or more
        From the gene to either end of the chromosome.

    Returns
    -------
    float, Morgan
        At least `donor_segment_morgan`, which counts the unbroken segment only.

    Raises
    ------
    ValueError
        When a value is outside its range.

    Notes
    -----
    A place at x Morgan from the gene is still of the donor with chance ((1 + exp(-2x))/2)^t: no recombination with the gene
    in any of t meioses, by Haldane's map function. The integral of it over the chromosome, term by term.

    Source
    ------
    Stam & Zeven 1981, Euphytica 30:227-238, for the question; Haldane 1919, J. Genet. 8:299-309, for the map function (from memory).

    Examples
    --------
    >>> round(100 * donor_on_carrier_morgan(6, 0.5, 0.5), 3)
    35.394
    """
    _check_backcrosses(backcrosses)
    _check_sides(left_morgan, right_morgan)
    return sum(
        side + sum(comb(backcrosses, n) * -expm1(-2 * n * side) / (2 * n) for n in range(1, backcrosses + 1))
        for side in (left_morgan, right_morgan)
    ) / 2**backcrosses  # fmt: skip


def share_homozygous_native(backcrosses: int, loci: int) -> float:
    """Share of plants homozygous for the native allele at all of n unlinked, unselected loci after backcrosses and selfing.

    Parameters
    ----------
    backcrosses : int, 1 or more
    loci : int, 0 or more

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Allard 1960, Principles of Plant Breeding: ((2^m - 1)/2^m)^n, selfing until nothing segregates.

    Examples
    --------
    >>> share_homozygous_native(3, 1)
    0.875
    """
    _check_backcrosses(backcrosses)
    if loci < 0:
        raise ValueError(f"The number of loci is {loci}. Give 0 or more.")
    return (1 - 0.5**backcrosses) ** loci


def chance_of_dropping_linked(backcrosses: int, recombination: float) -> float:
    """Chance that an unwanted donor gene linked to the selected one is gone, without selection against it.

    Parameters
    ----------
    backcrosses : int, 1 or more
        m; the F1's own meiosis is one more chance.
    recombination : float, 0 to 0.5
        Between both genes, in each meiosis.

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When a value is outside its range.

    Source
    ------
    Allard 1960, Principles of Plant Breeding: 1 - (1 - c)^(m + 1).

    Examples
    --------
    >>> round(chance_of_dropping_linked(5, 0.20), 3)
    0.738
    """
    _check_backcrosses(backcrosses)
    if not 0 <= recombination <= 0.5:
        raise ValueError(f"The recombination is {recombination}. Give a share from 0 to 0.5.")
    return 1 - (1 - recombination) ** (backcrosses + 1)


def _check_backcrosses(backcrosses):
    if backcrosses < 1:
        raise ValueError(f"The number of backcrosses is {backcrosses}. Give 1 or more.")


def _check_sides(left_morgan, right_morgan):
    if not (left_morgan >= 0 and right_morgan >= 0):
        raise ValueError(f"The lengths beside the gene are {left_morgan} and {right_morgan}. Give 0 Morgan or more.")
