"""A measured share of the donor species beside the share its pedigree leads one to expect."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from registry.calc.pedigree.backcross import donor_share_variance
from registry.calc.pedigree.generation import NAMED, Generation

_STANDARD_ERRORS = 3


@dataclass(frozen=True, slots=True)
class ShareCheck:
    """A measured donor share against the expected one. All are shares from 0 to 1.

    `spread` is two standard deviations of what was measured, single trees or a mean; `margin` is how far the two may lie apart before
    the pair is odd; None, as `spread`, where no expectation is known.
    """

    measured: float
    expected: float | None
    spread: float | None
    margin: float | None

    @property
    def odd(self) -> bool:
        return self.margin is not None and abs(self.measured - self.expected) > self.margin

    @property
    def limit(self) -> tuple[float, float] | None:
        """The lowest and the highest share that is not odd; None where no expectation is known."""
        return None if self.margin is None else (max(0.0, self.expected - self.margin), min(1.0, self.expected + self.margin))


def donor_share_spread(generation: Generation, chromosome_morgan: Sequence[float], selfings: int = 0) -> float | None:
    """How far the donor shares of single trees of a generation spread about their mean: two standard deviations.

    Parameters
    ----------
    generation : Generation
    chromosome_morgan : sequence of float
        Length of each chromosome of the map, Morgan.
    selfings : int, 0 or more
        How many of its last intercrosses were selfings, one after the other.

    Returns
    -------
    float or None
        0 for native, donor and F1 trees. After an intercross that of a first one between unrelated trees, which later random ones
        do not widen; after a selfing it is wider. Parents that are related in another way, such as full sibs, lie in between. None for
        a word without a share.

    Raises
    ------
    ValueError
        When a chromosome has no length above 0.

    Notes
    -----
    Of t backcrosses, then an intercross: the tree is the mean of two gametes of backcross trees, and the next backcross would be half
    of one. So the variance is twice that of the backcross generation t + 1. Both gametes of a selfed tree are of one tree, so half the
    variance of that tree is added: exact for the first selfing, the most it can be for later ones, because recombination narrows the
    gametes a little. Nothing selected, as in `donor_share_variance`.

    Source
    ------
    Hill 1993, J. Hered. 84:212-213, for the backcross generations; the intercross and the selfing follow from it as noted.

    Examples
    --------
    >>> donor_share_spread(Generation(0, 0), [1.0])
    0.0
    >>> donor_share_spread(Generation(1, 1), [1.0], selfings=1) > donor_share_spread(Generation(1, 1), [1.0])
    True
    """
    variance = _tree_variance(generation, chromosome_morgan, selfings)
    return None if variance is None else 2 * sqrt(variance)


def _tree_variance(generation, chromosome_morgan, selfings=0):
    if generation.code in NAMED or (generation.backcrosses, generation.intercrosses) == (0, 0):
        return 0.0
    if generation.backcrosses is None:
        return None
    selfings = min(selfings, generation.intercrosses)
    if not generation.intercrosses:
        return donor_share_variance(generation.backcrosses, chromosome_morgan)
    two_gametes = 2 * donor_share_variance(generation.backcrosses + 1, chromosome_morgan)
    if not selfings:
        return two_gametes
    parent = Generation(generation.backcrosses, generation.intercrosses - 1)
    return two_gametes + _tree_variance(parent, chromosome_morgan, selfings - 1) / 2


def cross_spread(parents: Sequence[Generation | None], chromosome_morgan: Sequence[float], selfed: bool = False) -> float:
    """How far the donor shares of single trees of one cross spread about their mean, by the generations of both parents: two standard
    deviations.

    Parameters
    ----------
    parents : two of Generation or None
        For None, or a word without a share, the parent is taken as a first hybrid, whose gametes spread most.
    chromosome_morgan : sequence of float
        Length of each chromosome of the map, Morgan.
    selfed : bool
        Both parents are one tree.

    Returns
    -------
    float, 0 to 1
        In shares of the genome.

    Raises
    ------
    ValueError
        When a chromosome has no length above 0.

    Notes
    -----
    The tree is the mean of two gametes. One of a tree after t backcrosses has the variance the backcross generation t + 1 gets from it;
    intercrossing does not widen it (as in `donor_share_spread`); one of a native or donor tree has none.

    Source
    ------
    Hill 1993, J. Hered. 84:212-213, for the backcross generations; the cross follows from it as noted.

    Examples
    --------
    >>> first_hybrid, native = Generation(0, 0), Generation(None, None, "native")
    >>> cross_spread([native, first_hybrid], [1.0]) == donor_share_spread(Generation(1, 0), [1.0])
    True
    >>> cross_spread([first_hybrid, None], [1.0]) == donor_share_spread(Generation(0, 1), [1.0])
    True
    """
    variance = 0.0
    for generation in parents:
        if generation is None or generation.code not in NAMED:
            backcrosses = generation.backcrosses if generation and generation.backcrosses is not None else 0
            variance += donor_share_variance(backcrosses + 1, chromosome_morgan)
    if selfed:
        variance += _parent_variance(parents[0], chromosome_morgan) / 2
    return 2 * sqrt(variance)


def family_spread(parents: Sequence[Generation | None], chromosome_morgan: Sequence[float], selfed: bool = False) -> float:
    """How far the means of whole families of one kind of cross spread about the mean of all: two standard deviations.

    More plants of one family do not bring their mean closer to that of the generation: their parents set how far off it is.

    Parameters, Raises
    ------------------
    As `cross_spread`. For None, or a word without a share, the parent is taken as an F2, whose shares spread most.

    Returns
    -------
    float, 0 to 1
        In shares of the genome; 0 for two parents of a pure species or a first hybrid.

    Source
    ------
    The mean of offspring is the mean of both parents: Allard 1960, Principles of Plant Breeding; Hill 1993, J. Hered. 84:212-213, for
    the variance of the parents.

    Examples
    --------
    >>> native, b1 = Generation(None, None, "native"), Generation(1, 0)
    >>> family_spread([native, b1], [1.0]) == donor_share_spread(b1, [1.0]) / 2
    True
    """
    mother, father = (_parent_variance(generation, chromosome_morgan) for generation in parents)
    return 2 * sqrt(mother if selfed else (mother + father) / 4)


def _parent_variance(generation, chromosome_morgan):
    variance = None if generation is None else _tree_variance(generation, chromosome_morgan)
    return _tree_variance(Generation(0, 1), chromosome_morgan) if variance is None else variance


def check_share(
    measured: float,
    standard_error: float,
    expected: float | None,
    spread: float | None,
    plants: int = 1,
    family: float = 0.0,
) -> ShareCheck:
    """Set a measured donor share beside the expected one.

    Parameters
    ----------
    measured, standard_error : float
        The laboratory's figure and its standard error, 0 where none is stated.
    expected : float or None
        Mean donor share of the generation.
    spread : float or None
        Of single trees about that mean, from `donor_share_spread`.
    plants : int, 1 or more
        The figure is the mean of so many plants; their mean spreads less.
    family : float
        Of the means of families, from `family_spread`: the part that more plants of one family do not narrow. For several samples of
        one tree as large as `spread`.

    Returns
    -------
    ShareCheck
        Odd when they differ by more than 3 standard errors and the spread together.

    Source
    ------
    Three standard errors: common practice, no source.

    Examples
    --------
    >>> check_share(0.40, 0.02, 0.0625, 0.06).odd, check_share(0.10, 0.02, 0.0625, 0.06).odd
    (True, False)
    """
    if expected is None or spread is None:
        return ShareCheck(measured, expected, spread, None)
    family = min(family, spread)
    spread = sqrt(family**2 + (spread**2 - family**2) / plants)
    return ShareCheck(measured, expected, spread, _STANDARD_ERRORS * standard_error + spread)
