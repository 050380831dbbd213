"""The expected father of an open-pollinated lot: the trees of a pollen pool, pollen from outside, and the mother herself."""

from collections import Counter, defaultdict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from registry.calc.pedigree.expected_shares import UNKNOWN

_NAMED_MAX = 5


@dataclass(frozen=True, slots=True)
class PollenPool:
    """What was in the air. Rule: the mother's own pollen counts through the selfing share only, also where she is a member.

    Parameters
    ----------
    members : tuple of (tree, weight)
        Trees that shed pollen; weights above 0 in any unit, or None for all, which counts them alike.
    outside_share : Fraction, 0 to 1
        Of the pollen that came from outside, as declared.
    outside_label : str
        The species or founder the outside pollen is taken as; `UNKNOWN` where that is not stated.
    selfing_share : Fraction, 0 to 1
        Of the seed that the mother fathered herself, as declared.

    Raises
    ------
    ValueError
        When a share is outside its range or both are more than 1 together, a tree is listed twice, a weight is not above 0, or only some
        weights are known.
    """

    members: tuple[tuple[Hashable, Fraction | None], ...]
    outside_share: Fraction = Fraction(0)
    outside_label: str = UNKNOWN
    selfing_share: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        for name, share in (("outside share", self.outside_share), ("selfing share", self.selfing_share)):
            if not 0 <= share <= 1:
                raise ValueError(f"The {name} is {share}. Give a share from 0 to 1.")
        if self.outside_share + self.selfing_share > 1:
            raise ValueError(
                f"Outside share {self.outside_share} and selfing share {self.selfing_share} add up to more than 1. Lower one of them."
            )
        if twice := sorted(str(name) for name, times in Counter(name for name, _ in self.members).items() if times > 1):
            raise ValueError(f"{_some(twice)} is in the pool more than once. Give each tree one line.")
        without = [str(name) for name, weight in self.members if weight is None]
        if without and len(without) < len(self.members):
            raise ValueError(
                f"{len(without)} of {len(self.members)} members have no weight: {_some(without)}. Give every member a weight, or none."
            )
        if wrong := [str(name) for name, weight in self.members if weight is not None and weight <= 0]:
            raise ValueError(f"The weight of {_some(wrong)} is not above 0. Give a weight above 0, or take the tree out of the pool.")


@dataclass(frozen=True, slots=True)
class ExpectedFather:
    """Exact shares in which each tree, and each kind of outside pollen, is expected to be the father. They sum to 1."""

    trees: dict[Hashable, Fraction]
    outside: dict[str, Fraction]


@dataclass(frozen=True, slots=True)
class CropDiversity:
    """Diversity of a seed crop. Outside pollen counts as so many unrelated trees that no two seeds share one.

    `effective_fathers` is None where all pollen came from outside.
    """

    group_coancestry: float
    status_number: float
    effective_fathers: float | None


def expected_father(pool: PollenPool, mother: Hashable) -> ExpectedFather:
    """Who is expected to have fathered the seed of one mother in the pool.

    Parameters
    ----------
    pool : PollenPool
    mother : hashable
        Need not be a member. If she is, her place in the pool is passed over: her own pollen is the selfing share.

    Returns
    -------
    ExpectedFather
        Selfing share to the mother, outside share to its label, the rest to the other members by weight. With no other member the rest
        is `UNKNOWN`: whose pollen it was is not recorded.

    Source
    ------
    Common practice of seed orchards, no source.

    Examples
    --------
    >>> pool = PollenPool((("a", None), ("b", None), ("c", None)), Fraction(1, 5), "native", Fraction(1, 10))
    >>> {tree: str(share) for tree, share in expected_father(pool, "a").trees.items()}
    {'a': '1/10', 'b': '7/20', 'c': '7/20'}
    """
    trees, outside = {}, defaultdict(Fraction)
    if pool.selfing_share:
        trees[mother] = Fraction(pool.selfing_share)
    if pool.outside_share:
        outside[pool.outside_label] += Fraction(pool.outside_share)
    rest = 1 - Fraction(pool.selfing_share) - Fraction(pool.outside_share)
    others = [(name, Fraction(1 if weight is None else weight)) for name, weight in pool.members if name != mother]
    if not others and rest:
        outside[UNKNOWN] += rest
    elif rest:
        total = sum(weight for _, weight in others)
        trees |= {name: rest * weight / total for name, weight in others}
    return ExpectedFather(trees, dict(outside))


def without_outside(pool: PollenPool) -> PollenPool | None:
    """The pool as if no pollen had come from outside: members and selfing take its part, in proportion.

    Returns
    -------
    PollenPool or None
        None where all pollen came from outside.

    Source
    ------
    Definition of this programme: the other shares grow in proportion.

    Examples
    --------
    >>> pool = PollenPool((("a", None), ("b", None)), Fraction(1, 5), "native", Fraction(1, 10))
    >>> without_outside(pool).selfing_share
    Fraction(1, 8)
    """
    if pool.outside_share == 1:
        return None
    return replace(pool, outside_share=Fraction(0), outside_label=UNKNOWN, selfing_share=pool.selfing_share / (1 - pool.outside_share))


def progeny_shares(
    mother: Mapping[str, Fraction], father: ExpectedFather, shares_of: Mapping[Hashable, Mapping[str, Fraction]]
) -> dict[str, Fraction]:  # fmt: skip
    """Expected shares of founders, or of species, in the seed of one mother.

    Parameters
    ----------
    mother : mapping of founder or species to Fraction
        Of the mother.
    father : ExpectedFather
    shares_of : mapping of tree to its shares
        For every tree of `father`. Outside pollen counts wholly under its label.

    Returns
    -------
    dict of founder or species to Fraction
        Sums to 1 when the shares of every parent do.

    Raises
    ------
    ValueError
        When the shares of a father are missing.

    Source
    ------
    Allard 1960, Principles of Plant Breeding: the mean of offspring is the mean of both parents.

    Examples
    --------
    >>> father = ExpectedFather({"b": Fraction(1, 2)}, {"native": Fraction(1, 2)})
    >>> shares = progeny_shares({"native": Fraction(1)}, father, {"b": {"donor": Fraction(1)}})
    >>> {species: str(share) for species, share in shares.items()}
    {'native': '3/4', 'donor': '1/4'}
    """
    if missing := [str(name) for name in father.trees if name not in shares_of]:
        raise ValueError(f"The shares of {_some(missing)} are not given. Give those of every father.")
    found: defaultdict[str, Fraction] = defaultdict(Fraction)
    parts = [(mother, Fraction(1)), *((shares_of[name], share) for name, share in father.trees.items())]
    parts += [({label: Fraction(1)}, share) for label, share in father.outside.items()]
    for shares, weight in parts:
        for name, share in shares.items():
            found[name] += share * weight / 2
    return dict(found)


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
        raise ValueError(f"{_some(missing)} is not among the trees whose coancestry is given.")
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


def _some(names):
    shown = ", ".join(f"“{name}”" for name in names[:_NAMED_MAX])
    return shown if len(names) <= _NAMED_MAX else f"{shown} and {len(names) - _NAMED_MAX} more"
