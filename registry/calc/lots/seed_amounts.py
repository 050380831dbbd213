"""How much seed: pure live seed, weight for a bed, and seeds for a wanted number of trees."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, exp, lgamma, log, log1p

from registry.calc.lots.checked_numbers import check_finite, check_positive
from registry.calc.pedigree.seedlings_needed import plants_needed
from registry.calc.shared.proportion import check_share

_WHOLE_NUMBERS_UP_TO = 300  # of more, with shares of many decimals, whole numbers take half a minute


@dataclass(frozen=True, slots=True)
class SeedsForTrees:
    """Seeds to sow for a wanted number of trees: `expected` gives that many on average, `sure` with the given confidence."""

    trees: int
    share: float
    expected: int
    sure: int
    confidence: float


def pure_live_seed_share(purity_share: float, germination_share: float) -> float:
    """Pure live seed: the share of a weight of seed that is pure and germinates.

    Parameters
    ----------
    purity_share, germination_share : float, 0 to 1

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When a share lies outside 0 to 1; a number over 1 is named as a likely percentage.

    Source
    ------
    Texas Department of Transportation, page "Pure live seed": purity x germination.

    Examples
    --------
    >>> round(pure_live_seed_share(0.85, 0.75), 4)
    0.6375
    """
    return check_share("purity", purity_share) * check_share("germination", germination_share)


def bulk_per_pure_live_seed(purity_share: float, germination_share: float) -> float:
    """Weight of seed as it comes that holds one unit of weight of pure live seed.

    Parameters
    ----------
    purity_share, germination_share : float, above 0 up to 1

    Returns
    -------
    float, 1 or more
        In the unit of weight of the pure live seed.

    Raises
    ------
    ValueError
        As `pure_live_seed_share`, and when either share is 0: no weight of such seed is enough.

    Source
    ------
    Texas Department of Transportation, page "Pure live seed".

    Examples
    --------
    >>> round(bulk_per_pure_live_seed(0.85, 0.75), 6)
    1.568627
    """
    share = pure_live_seed_share(purity_share, germination_share)
    if not share:
        raise ValueError("Purity or germination is 0: no weight of this seed is enough.")
    return 1 / share


def seed_to_sow(
    area: float, wanted_density: float, seeds_per_weight: float, purity_share: float, germination_share: float, survival_share: float
) -> float:  # fmt: skip
    """Weight of seed for a bed: W = A S / (D P G Y).

    Parameters
    ----------
    area, wanted_density : float
        Of the bed, and of the seedlings wanted on it, in the same unit of area (m2 and per m2).
    seeds_per_weight : float
        Such as seeds per kg; the result is then in kg.
    purity_share, germination_share, survival_share : float, above 0 up to 1
        The last one: seedlings that live until they are lifted, of those that germinate.

    Returns
    -------
    float
        In the unit of weight of `seeds_per_weight`.

    Raises
    ------
    ValueError
        When a value is not above 0, a share is over 1, or the weight is too large to calculate.

    Source
    ------
    Williams & Hanks 1976, Hardwood Nurseryman's Guide, USDA Agric. Handb. 473 (from memory).

    Examples
    --------
    >>> round(seed_to_sow(100, 50, 290, 0.98, 0.72, 0.6), 3)
    40.725
    """
    for name, value in (("area", area), ("density wanted", wanted_density), ("number of seeds per unit of weight", seeds_per_weight)):
        check_positive(name, value, "")
    shares = [check_share(*pair, above_zero=True) for pair in
              (("purity", purity_share), ("germination", germination_share), ("survival", survival_share))]  # fmt: skip
    return check_finite("weight of seed", lambda: area * wanted_density / (seeds_per_weight * shares[0] * shares[1] * shares[2]))


def seeds_for_trees(
    trees: int, germination_share: float = 1, kept_share: float = 1, field_survival_share: float = 1, confidence: float = 0.95
) -> SeedsForTrees:  # fmt: skip
    """Seeds to sow so that a wanted number of trees live in the field.

    Parameters
    ----------
    trees : int, 1 or more
    germination_share, kept_share, field_survival_share : float, above 0 up to 1
        Seeds that germinate; seedlings kept when the nursery culls; planted trees that live until they are counted.
    confidence : float, above 0 and below 1

    Returns
    -------
    SeedsForTrees
        `expected` is trees over the product of the shares, rounded up: about half the time it is not enough.
        `sure` is the smallest number that gives the trees with the confidence, exact binomial (in whole numbers up to
        300 seeds, beyond that in floating point).

    Raises
    ------
    ValueError
        When a value is outside its range.

    Notes
    -----
    Each seed is taken to live or die on its own. A frost or a mouse takes many at once; keep a reserve beyond this number.

    Source
    ------
    Sedcole 1977, Crop Sci. 17:667-668, the exact method.

    Examples
    --------
    >>> need = seeds_for_trees(100, 0.65, 0.8, 0.7)
    >>> need.expected, need.sure
    (275, 312)
    """
    if trees < 1:
        raise ValueError(f"The trees wanted are {trees}. Give 1 or more.")
    share = Fraction(1)
    named = (("germination", germination_share), ("share kept at culling", kept_share), ("field survival", field_survival_share))
    for name, value in named:
        share *= Fraction(str(check_share(name, value, above_zero=True)))
    expected = ceil(trees / share)
    if expected <= _WHOLE_NUMBERS_UP_TO or share == 1:
        sure = plants_needed(share, trees, confidence)
    else:
        sure = _fewest_seeds(trees, float(share), confidence)
    return SeedsForTrees(trees, float(share), expected, sure, confidence)


def _fewest_seeds(trees, share, confidence):
    """The same as `plants_needed` in floating point: whole numbers of many thousand digits would take minutes."""
    if not 0 < confidence < 1:
        raise ValueError(f"The confidence is {confidence}. Give a number between 0 and 1, such as 0.95.")
    too_few, enough = trees - 1, trees
    while _fewer_than(trees, enough, share) > 1 - confidence:
        too_few, enough = enough, 2 * enough
    while enough - too_few > 1:
        middle = (too_few + enough) // 2
        if _fewer_than(trees, middle, share) > 1 - confidence:
            too_few = middle
        else:
            enough = middle
    return enough


def _fewer_than(trees, n, share):
    """P(X < trees), X binomial (n, share), summed from its largest term down, or from the other side where that is the small one."""
    if trees <= n * share:
        return _tail(trees - 1, n, share)
    return 1 - _tail(n - trees, n, 1 - share)


def _tail(top, n, share):
    """P(X <= top) for a top below the mean: each term is smaller than the one before."""
    term = exp(lgamma(n + 1) - lgamma(top + 1) - lgamma(n - top + 1) + top * log(share) + (n - top) * log1p(-share))
    total = 0.0
    for k in range(top, -1, -1):
        total += term
        term *= k * (1 - share) / ((n - k + 1) * share)
        if term <= total * 1e-17:  # also where the first term is too small to differ from 0
            break
    return total
