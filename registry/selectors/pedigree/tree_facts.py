"""Trees and their ancestors as the pedigree calculations take them: read one generation at a time, never all trees."""

from collections import defaultdict
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from django.db.models import Case, Count, Exists, F, OuterRef, Q, Sum, When

from registry.calc.orchard.pollen_pool import PollenPool as PoolFacts
from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.pedigree.generation import Generation, expected_native_share
from registry.calc.pedigree.lineage import TreeFacts
from registry.choices import CrossType, TaxonRole
from registry.models import Lot, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.identity.descent import chunks

__all__ = [
    "TREE_FIELDS",
    "PoolRow",
    "TreeRow",
    "ancestor_rows",
    "needs_parents",
    "outside_donor_shares",
    "pool_facts",
    "pool_rows",
    "stated_donor_share",
    "summed_pools",
    "tree_columns",
    "tree_facts",
]

TREE_FIELDS = (
    "pk", "mother", "father", "pollen_pool", "backcrosses", "intercrosses", "generation_other", "taxon__role",
    "source_of_resistance", "recurrent_line",
)  # fmt: skip


def tree_columns(prefix=""):
    """The `TREE_FIELDS` to be read, of a tree or behind a prefix: the mother of a selfed tree is its father too, whether or not that is
    written down."""
    selfed = When(**{f"{prefix}cross_type": CrossType.SELF, f"{prefix}father__isnull": True}, then=F(f"{prefix}mother"))
    father = Case(selfed, default=F(f"{prefix}father"), output_field=PedigreeTree._meta.pk)
    return [father if name == "father" else f"{prefix}{name}" for name in TREE_FIELDS]


class TreeRow(NamedTuple):
    """The `TREE_FIELDS` of a tree, as `tree_columns` reads them."""

    pk: int
    mother: int | None
    father: int | None
    pool: int | None
    backcrosses: int | None
    intercrosses: int | None
    generation_other: str
    role: str
    source: str
    line: str


class PoolRow(NamedTuple):
    """A pollen pool: its own shares, and its members as (tree, weight) or, where they were summed, (kind of tree, weight)."""

    pk: int
    code: str
    outside_share: object
    outside: str
    outside_role: str
    selfing_share: object
    members: list


def tree_facts(row):
    """The TreeFacts of a tree: parents by key, statements, and the donor share its generation or species states."""
    founder = row.mother is None and row.father is None and row.pool is None
    donor = stated_donor_share(row.backcrosses, row.intercrosses, row.generation_other, row.role, founder, bool(row.source.strip()))
    return TreeFacts(row.mother, row.father, row.pool, donor, row.source, row.line)


@cache
def stated_donor_share(backcrosses, intercrosses, word, role, founder, carries_source):
    """The donor share a generation states, or else the species of a founder; None where neither does."""
    if backcrosses is not None or word.strip():
        native = expected_native_share(Generation(backcrosses, intercrosses, word))
        if native is not None:
            return 1 - native
    if founder and role == TaxonRole.DONOR:
        return Fraction(1)
    # a native species with a source and no generation is a tree whose crosses are not recorded
    return Fraction(0) if founder and role == TaxonRole.NATIVE and not carries_source else None


def needs_parents(facts):
    """Whether its lineage depends on its parents: it states less than everything, and has some."""
    if facts.mother is None and facts.father is None and facts.pool is None:
        return False
    if facts.donor_share == 0 and facts.line.strip():
        return False
    return facts.donor_share is None or not (facts.source.strip() and facts.line.strip())


def ancestor_rows(keys, follow=lambda row: True, generations=None, through_pools=True):
    """Rows of trees and of their ancestors, with the pollen pools among them.

    Parameters
    ----------
    keys : iterable of tree keys
    follow : function of a TreeRow
        Whether the parents of the tree are wanted.
    generations : int, optional
        At most so many steps upwards; all when left out.
    through_pools : bool
        Whether the members of pollen pools are ancestors too.

    Returns
    -------
    ({key: TreeRow}, {key: PoolRow})
        One query for each few hundred trees of a generation, and two where pools are met. Loops end where they began.
    """
    rows, pools, wave, step = {}, {}, set(keys), 0
    while wave:
        found = [TreeRow(*row) for chunk in chunks(wave) for row in _tree_query(chunk)]
        rows |= {row.pk: row for row in found}
        if generations is not None and step == generations:
            break
        followed = [row for row in found if follow(row)]
        new = pool_rows({row.pool for row in followed} - {None} - pools.keys()) if through_pools else {}
        pools |= new
        wave = {parent for row in followed for parent in (row.mother, row.father)}
        wave |= {member for pool in new.values() for member, _ in pool.members}
        wave -= {None, *rows}
        step += 1
    return rows, pools


def _tree_query(chunk):
    return PedigreeTree.objects.filter(pk__in=chunk).order_by().values_list(*tree_columns())


def pool_rows(keys):
    """{key: PoolRow} of pollen pools with all their members: two queries for each few hundred pools."""
    pools = {}
    for chunk in chunks(keys):
        pools |= {row[0]: PoolRow(*row, []) for row in _pool_query(chunk)}
        members = PollenPoolMember.objects.filter(pool__in=chunk).order_by("tree")
        for pool, tree, weight in members.values_list("pool", "tree", "weight"):
            pools[pool].members.append((tree, weight))
    return pools


def pool_facts(pool):
    """The PollenPool as the calculations take it. Shares that are not declared count as none.

    Raises ValueError, in words, where only some members have a weight or the shares are out of range.
    """
    members = tuple((tree, weight if weight is None or isinstance(weight, int) else Fraction(weight)) for tree, weight in pool.members)
    return PoolFacts(members, Fraction(pool.outside_share or 0), pool.outside or UNKNOWN, Fraction(pool.selfing_share or 0))


def outside_donor_shares(pools):
    """{label of outside pollen: its donor share} for the pools whose outside pollen is of a native or a donor species."""
    known = {TaxonRole.NATIVE: Fraction(0), TaxonRole.DONOR: Fraction(1)}
    return {pool.outside: known[pool.outside_role] for pool in pools if pool.outside_role in known}


def summed_pools(keys):
    """Pools whose members are summed by what they state, for the lineages of many lots: two queries for each few hundred pools.

    Members whose lineage depends on their parents, and mothers of a lot of the pool, stay by themselves. Each sort that is
    summed has one TreeRow, whose key is a tuple. A pool of which only some members have a weight has none here: its father is unknown.

    Returns
    -------
    ({key: PoolRow}, {sort: TreeRow})
    """
    pools, sorts, sums = {}, {}, defaultdict(list)
    for chunk in chunks(keys):
        pools |= {row[0]: PoolRow(*row, []) for row in _pool_query(chunk)}
        for pool, tree, *traits, number, known, weight in _summed_members(chunk):
            if tree is None:
                tree = ("sort", *traits)
                sorts[tree] = TreeRow(tree, None, None, None, *traits)
            sums[pool].append((tree, number, known, weight))
    for pool, lines in sums.items():
        known = sum(line[2] for line in lines)
        if known == 0:
            pools[pool].members.extend((tree, number) for tree, number, _, _ in lines)
        elif known == sum(line[1] for line in lines):
            pools[pool].members.extend((tree, weight) for tree, _, _, weight in lines)
    return pools, sorts


def _summed_members(chunk):
    trait_fields = [f"tree__{name}" for name in TREE_FIELDS[4:]]
    stated = ~Q(tree__source_of_resistance="") & ~Q(tree__recurrent_line="")
    stated &= Q(tree__backcrosses__isnull=False) | Q(tree__generation_other__in=("native", "donor"))
    founder = Q(tree__mother=None, tree__father=None, tree__pollen_pool=None)
    is_mother = Exists(Lot.objects.filter(pollen_pool=OuterRef("pool"), mother=OuterRef("tree")))
    alone = Case(When((stated | founder) & ~is_mother, then=None), default=F("tree"), output_field=PollenPoolMember._meta.pk)
    members = PollenPoolMember.objects.filter(pool__in=chunk).order_by().annotate(alone=alone)
    return members.values_list("pool", "alone", *trait_fields).annotate(Count("pk"), Count("weight"), Sum("weight"))


def _pool_query(chunk):
    fields = ("pk", "code", "outside_share", "outside_taxon__name", "outside_taxon__role", "selfing_share")
    return PollenPool.objects.filter(pk__in=chunk).order_by().values_list(*fields)
