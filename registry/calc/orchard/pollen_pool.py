"""The expected father of an open-pollinated lot: the trees of a pollen pool, pollen from outside, and the mother herself."""

from collections import Counter, defaultdict
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

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
            raise ValueError(f"{some_names(twice)} is in the pool more than once. Give each tree one line.")
        without = [str(name) for name, weight in self.members if weight is None]
        if without and len(without) < len(self.members):
            raise ValueError(
                f"{len(without)} of {len(self.members)} members have no weight: {some_names(without)}. Give every member a weight, or none."
            )
        if wrong := [str(name) for name, weight in self.members if weight is not None and weight <= 0]:
            raise ValueError(f"The weight of {some_names(wrong)} is not above 0. Give a weight above 0, or take the tree out of the pool.")


@dataclass(frozen=True, slots=True)
class ExpectedFather:
    """Exact shares in which each tree, and each kind of outside pollen, is expected to be the father. They sum to 1."""

    trees: dict[Hashable, Fraction]
    outside: dict[str, Fraction]


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
        raise ValueError(f"The shares of {some_names(missing)} are not given. Give those of every father.")
    found: defaultdict[str, Fraction] = defaultdict(Fraction)
    parts = [(mother, Fraction(1)), *((shares_of[name], share) for name, share in father.trees.items())]
    parts += [({label: Fraction(1)}, share) for label, share in father.outside.items()]
    for shares, weight in parts:
        for name, share in shares.items():
            found[name] += share * weight / 2
    return dict(found)


def some_names(names: Sequence[Hashable]) -> str:
    """The first of some names, and how many more there are.

    Source
    ------
    A wording: no source.

    Examples
    --------
    >>> some_names(["a", "b"])
    '“a”, “b”'
    """
    shown = ", ".join(f"“{name}”" for name in names[:_NAMED_MAX])
    return shown if len(names) <= _NAMED_MAX else f"{shown} and {len(names) - _NAMED_MAX} more"
