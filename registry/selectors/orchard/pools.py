"""Reads about pollen pools: who is in one, which trees were standing and flowered, the expected father, what depends on it."""

import datetime
from dataclasses import dataclass
from fractions import Fraction

from registry.calc.orchard.crops import crop_father
from registry.calc.orchard.pollen_pool import ExpectedFather
from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.shared.screen import amount_words
from registry.models import Lot, PedigreeTree
from registry.selectors.identity.descent import linked, lots_made_of, offspring
from registry.selectors.orchard.orchard import trees_standing_on, trees_unknown_on
from registry.selectors.pedigree.tree_facts import pool_facts, pool_rows

__all__ = ["Gathering", "PoolFather", "PoolImpact", "pool_father", "pool_flowering_day", "pool_gathering", "pool_members", "pool_impact"]


@dataclass(frozen=True, slots=True)
class Gathering:
    """What a gathering of the trees of a pool would do, tree by tree.

    `new` are to be added, `stay` are members already. `absent` are members not on record as standing and flowering there on the day: they
    stay until someone takes them out. `too_young` were standing but flowered first in a later year. `unknown_then` are gone since an
    unknown day. `flowering_unknown` counts the trees of `new` and `stay` without a first flowering year.
    """

    day: datetime.date
    new: tuple
    stay: tuple
    absent: tuple
    too_young: tuple
    unknown_then: tuple
    flowering_unknown: int


@dataclass(frozen=True, slots=True)
class PoolFather:
    """The expected father over the mothers whose lots name the pool, or over no mother in particular. `problem` says why there is none."""

    father: ExpectedFather | None
    codes: dict
    mothers: dict
    problem: str = ""


@dataclass(frozen=True, slots=True)
class PoolImpact:
    """What depends on a pool: lots and trees that name it as father, and how many come of those."""

    lots: tuple
    trees: tuple
    more_lots: int
    more_trees: int

    def __bool__(self):
        return bool(self.lots or self.trees)


def pool_flowering_day(pool):
    """The day trees must have been standing on: as recorded, else 1 June of the flowering year."""
    return pool.flowered_on or datetime.date(pool.flowering_year, 6, 1)


def pool_members(pool):
    """The members with their trees, by code."""
    return pool.members.select_related("tree__taxon").order_by("tree__code")


def pool_gathering(pool):
    """The Gathering of a pool by the status history: a fixed number of queries."""
    day = pool_flowering_day(pool)
    standing = list(trees_standing_on(pool.orchard, pool.block, day))
    too_young = {tree.pk for tree in standing if tree.first_flowering_year and tree.first_flowering_year > pool.flowering_year}
    flowering = [tree for tree in standing if tree.pk not in too_young]
    members = {member.tree_id: member.tree for member in pool_members(pool)}
    there = {tree.pk for tree in flowering}
    return Gathering(
        day=day,
        new=tuple(tree for tree in flowering if tree.pk not in members),
        stay=tuple(tree for tree in flowering if tree.pk in members),
        absent=tuple(tree for pk, tree in members.items() if pk not in there),
        too_young=tuple(tree for tree in standing if tree.pk in too_young),
        unknown_then=tuple(trees_unknown_on(pool.orchard, pool.block, day)),
        flowering_unknown=sum(tree.first_flowering_year is None for tree in flowering),
    )


def pool_father(pool):
    """PoolFather of a pool, over the mothers of the seed lots that name it, each counting alike: four queries."""
    mothers = dict.fromkeys(linked(Lot.objects, "pollen_pool", [pool.pk], "mother"), Fraction(1))
    mothers.pop(None, None)
    try:
        facts = pool_facts(pool_rows([pool.pk])[pool.pk])
    except ValueError as error:
        return PoolFather(None, {}, mothers, str(_with_codes(pool, error)))
    father = crop_father(mothers or {None: 1}, facts)
    if None in father.trees:  # no lot yet, so it is not known which mother would self
        outside = father.outside | {UNKNOWN: father.outside.get(UNKNOWN, 0) + father.trees[None]}
        father = ExpectedFather({tree: share for tree, share in father.trees.items() if tree is not None}, outside)
    codes = dict(linked(PedigreeTree.objects, "pk", {*father.trees, *mothers}, "pk", "code"))
    return PoolFather(father, codes, mothers)


def _with_codes(pool, error):
    """The problem with members named by their codes."""
    without = list(pool.members.filter(weight=None).order_by("tree__code").values_list("tree__code", flat=True))
    if without and pool.members.exclude(weight=None).exists():
        shown = ", ".join(without[:5]) + (f" and {len(without) - 5} more" if len(without) > 5 else "")
        members = amount_words(pool.members.count(), "members")
        return f"{len(without)} of {members} have no weight: {shown}. Give every member a weight, or none."
    return error


def pool_impact(pool):
    """PoolImpact of a pool: all that names it, and what came from that."""
    lots = tuple(Lot.objects.filter(pollen_pool=pool).select_related("mother").order_by("code"))
    trees = tuple(PedigreeTree.objects.filter(pollen_pool=pool).order_by("code"))
    below = offspring([tree.pk for tree in trees]) if trees else set()
    named = {lot.pk for lot in lots}
    made = lots_made_of(trees={tree.pk for tree in trees} | below, pools={pool.pk}) if lots or trees else set()
    return PoolImpact(lots, trees, len(made - named), len(below - {tree.pk for tree in trees}))
