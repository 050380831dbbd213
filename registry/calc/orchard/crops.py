"""How diverse a crop is: the father of a crop of several mothers, and what its genes come from."""

from collections import defaultdict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from registry.calc.orchard.pollen_pool import ExpectedFather, PollenPool, expected_father, some_names


@dataclass(frozen=True, slots=True)
class CropDiversity:
    """Diversity of a seed crop. Outside pollen counts as so many unrelated trees that no two seeds share one.

    `effective_fathers` is None where all pollen came from outside.
    """

    group_coancestry: float
    status_number: float
    effective_fathers: float | None


def crop_father(mothers: Mapping[Hashable, Fraction | int], pool: PollenPool) -> ExpectedFather:
    """The expected father of a crop of several mothers in one pool, each weighted by her seed.

    Parameters
    ----------
    mothers : mapping of mother to weight
        Fraction or int, 0 or more, one above 0; they need not sum to 1.
    pool : PollenPool

    Returns
    -------
    ExpectedFather
        Shares that sum to 1.

    Raises
    ------
    ValueError
        When a weight is negative or all are 0.

    Source
    ------
    Common practice of seed orchards, no source: each mother counts by her part of the crop.
    """
    trees, outside = defaultdict(Fraction), defaultdict(Fraction)
    for mother, part in _parts(mothers).items():
        father = expected_father(pool, mother)
        for found, shares in ((trees, father.trees), (outside, father.outside)):
            for name, share in shares.items():
                found[name] += part * share
    return ExpectedFather(dict(trees), dict(outside))


def crop_diversity(
    mothers: Mapping[Hashable, Fraction | int], father: ExpectedFather, names: list[Hashable], coancestry: np.ndarray
) -> CropDiversity:  # fmt: skip
    """Group coancestry, status number and effective number of fathers of a seed crop.

    Parameters
    ----------
    mothers : mapping of mother to weight
        Her part of the seed; need not sum to 1.
    father : ExpectedFather
        Of the whole crop, from `crop_father`.
    names : list of k trees
        Every mother and every father among them.
    coancestry : ndarray, shape (k, k)
        Between the names, self-coancestry (1 + F)/2 on the diagonal.

    Returns
    -------
    CropDiversity

    Raises
    ------
    ValueError
        When a tree is missing from the names, or the matrix does not fit them.

    Source
    ------
    Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76. Half the genes of the crop are the mothers', half the fathers'; which
    father met which mother does not matter to the pool of genes.

    Examples
    --------
    >>> father = ExpectedFather({"b": Fraction(1)}, {})
    >>> crop_diversity({"a": 1}, father, ["a", "b"], np.eye(2) / 2)
    CropDiversity(group_coancestry=0.25, status_number=2.0, effective_fathers=1.0)
    """
    coancestry = np.asarray(coancestry, dtype=float)
    if coancestry.shape != (len(names), len(names)):
        raise ValueError(f"Coancestry has the shape {coancestry.shape} for {len(names)} trees. Give one row and column for each.")
    place = {name: number for number, name in enumerate(names)}
    if missing := [str(name) for name in (*mothers, *father.trees) if name not in place]:
        raise ValueError(f"{some_names(missing)} is not among the trees whose coancestry is given.")
    genes = np.zeros(len(names))
    for name, share in crop_genes(mothers, father).items():
        genes[place[name]] = share
    return crop_of_coancestry(float(genes @ coancestry @ genes), father)


def crop_genes(mothers: Mapping[Hashable, Fraction | int], father: ExpectedFather) -> dict[Hashable, float]:
    """The share of each tree in the genes of a seed crop: half of its share as a mother and half of that as a father.

    Parameters
    ----------
    mothers, father
        As of `crop_diversity`.

    Returns
    -------
    dict of tree to float, 0 to 1
        Sums to 1 less half the pollen from outside.

    Raises
    ------
    ValueError
        When a weight is negative or all are 0.

    Source
    ------
    As `crop_diversity`.

    Examples
    --------
    >>> crop_genes({"a": 3, "b": 1}, ExpectedFather({"b": Fraction(1, 2)}, {"native": Fraction(1, 2)}))
    {'a': 0.375, 'b': 0.375}
    """
    genes: defaultdict[Hashable, float] = defaultdict(float)
    for shares in (_parts(mothers), father.trees):
        for name, share in shares.items():
            genes[name] += float(share) / 2
    return dict(genes)


def crop_of_coancestry(theta: float, father: ExpectedFather) -> CropDiversity:
    """The diversity of a seed crop whose group coancestry is known.

    Parameters
    ----------
    theta : float, above 0 up to 1
        Group coancestry of its genes.
    father : ExpectedFather

    Returns
    -------
    CropDiversity

    Source
    ------
    As `crop_diversity`.

    Examples
    --------
    >>> crop_of_coancestry(0.25, ExpectedFather({"b": Fraction(1)}, {})).status_number
    2.0
    """
    squares = sum(share**2 for share in father.trees.values())
    return CropDiversity(theta, 1 / (2 * theta), float(1 / squares) if squares else None)


def _parts(mothers):
    total = sum(Fraction(weight) for weight in mothers.values())
    if not total or min(mothers.values()) < 0:
        raise ValueError("The weights of the mothers are all 0, or one is negative. Give 0 or more, one of them above 0.")
    return {mother: Fraction(weight) / total for mother, weight in mothers.items()}
