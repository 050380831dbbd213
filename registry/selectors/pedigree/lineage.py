"""The lineage of lots: what each level of a survival table is grouped by. Stated facts and what follows from them; nothing is guessed."""

from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from graphlib import CycleError, TopologicalSorter

from django.utils.translation import gettext_noop

from registry import choices
from registry.calc.pedigree.generation import Generation
from registry.calc.pedigree.lineage import TreeFacts, derive_lineages
from registry.calc.pedigree.mixtures import NOT_STATED, blended_labels, mixture_label
from registry.models import Lot, LotComponent
from registry.selectors.pedigree.tree_facts import (
    TREE_FIELDS,
    TreeRow,
    ancestor_rows,
    needs_parents,
    outside_donor_shares,
    pool_facts,
    summed_pools,
    tree_columns,
    tree_facts,
)

__all__ = ["Lineage", "lot_lineages", "tree_lineage", "tree_lineages"]

BULK = "bulk"
OUTSIDE = gettext_noop("outside origin")
_NAMED_MAX = 500  # more lots than this are read with all others, not named one by one in the query
_LOT_FIELDS = (
    "pk", "code", "origin", "parent_id", "year", "cross_type", "backcrosses", "intercrosses", "generation_other",
    "declared_source", "declared_line", "mother_id", "mother__code", "father_id", "father__code", "pollen_pool_id", "pollen_pool__code",
)  # fmt: skip
_PARENT_FIELDS = [*tree_columns("mother__"), *tree_columns("father__")]
_MOTHER = slice(len(_LOT_FIELDS), len(_LOT_FIELDS) + len(TREE_FIELDS))
_FATHER = slice(_MOTHER.stop, None)


@dataclass(frozen=True, slots=True)
class Lineage:
    """A lot at every level lineages are compared at; each level is the label it is shown and grouped by."""

    lot: str
    mother: str
    family: str
    source: str
    line: str
    generation: str


@dataclass(frozen=True, slots=True)
class _Traits:
    """What a lot passes on to the lots made of it; source and line as parts that sum to 1, empty where nothing is stated."""

    mother: str = NOT_STATED
    family: str = NOT_STATED
    source: dict = field(default_factory=dict)
    line: dict = field(default_factory=dict)
    generations: frozenset = frozenset()


_NOTHING = _Traits()


def lot_lineages(lots=None):
    """Lineages of lots, by their primary key.

    Parameters
    ----------
    lots : iterable of Lot or queryset, optional
        All lots when left out. Parents and components are followed whether or not they are in it.

    Returns
    -------
    dict of {lot primary key: Lineage}

    Notes
    -----
    *Harvest*: source and line follow from mother and father, or mother and pollen pool, by the rules of `derive_lineages`. Where the
    father is not known (none is named, or a pool without members), the lot goes by its mother. *Raised or split*: as the lot it came
    from. *Bulk*: its components, weighted by their counts. *Outside*: as declared.
    A lot whose origin is a loop is "not stated" at every level, and so is what was made of it.
    Two queries for all, three for some (four when `lots` is a queryset); where parents state less than everything one more for each
    generation up to the trees that do, and where lots name pollen pools two more.
    """
    wanted = None if lots is None else [lot.pk for lot in lots]
    components = defaultdict(list)
    for bulk_id, component_id, count in LotComponent.objects.order_by("bulk", "component").values_list("bulk", "component", "count"):
        components[bulk_id].append((component_id, count))
    rows, made_of = _read_all(components) if wanted is None or len(wanted) > _NAMED_MAX else _read_needed(wanted, components)
    traits = _traits_of_all(rows, made_of, _harvested(rows))
    labels = {}
    return {pk: _lineage(rows[pk].code, traits.get(pk, _NOTHING), labels) for pk in (rows if wanted is None else wanted)}


def tree_lineage(tree):
    """(TreeLineage of a tree, Contradictions of its own statements): a query for each generation up to the trees that state all."""
    rows, pools = ancestor_rows([tree.pk], lambda row: row.pk == tree.pk or needs_parents(tree_facts(row)))
    found, contradictions = _derive({pk: tree_facts(row) for pk, row in rows.items()}, pools)
    return found[tree.pk], [line for line in contradictions if line.tree == tree.pk]


def tree_lineages(keys):
    """{key: TreeLineage} of trees (keys): a query for each generation up to the trees that state all, whatever the number of trees."""
    keys = set(keys)
    if not keys:
        return {}
    rows, pools = ancestor_rows(keys, lambda row: needs_parents(tree_facts(row)))
    found, _ = _derive({pk: tree_facts(row) for pk, row in rows.items()}, pools)
    return {pk: found[pk] for pk in keys & found.keys()}


def _derive(facts, pools):
    readable = {}
    for pk, pool in pools.items():
        with suppress(ValueError):  # an inconsistent pool counts as an unknown father; its own page says why
            readable[pk] = pool_facts(pool)
    return derive_lineages(facts, readable, outside_donor_shares(pools.values()))


def _read_all(components):
    """Rows of all lots, and {lot: [(lot it was made of, count)]}."""
    rows = _rows(Lot.objects)
    return rows, {pk: _made_of(pk, row.origin, row.parent_id, components) for pk, row in rows.items()}


def _read_needed(wanted, components):
    """The same for the wanted lots and all they were made of: the origins of all lots cost little, their parents much."""
    origins = {pk: (origin, parent_id) for pk, origin, parent_id in Lot.objects.order_by().values_list("pk", "origin", "parent")}
    needed = _needed(wanted, {pk: _made_of(pk, *origin, components) for pk, origin in origins.items()})
    if len(needed) > _NAMED_MAX:
        return _read_all(components)
    return _rows(Lot.objects.filter(pk__in=needed)), needed


def _rows(lots):
    return {row.pk: row for row in lots.order_by().values_list(*_LOT_FIELDS, *_PARENT_FIELDS, named=True)}


def _made_of(pk, origin, parent_id, components):
    if origin == choices.LotOrigin.BULK:
        return components[pk]
    return [(parent_id, 1)] if origin in (choices.LotOrigin.SOWN, choices.LotOrigin.SPLIT) else []


def _needed(wanted, made_of):
    """The part of `made_of` that the wanted lots come from."""
    needed, waiting = {}, list(wanted)
    while waiting:
        pk = waiting.pop()
        if pk not in needed:
            needed[pk] = made_of[pk]
            waiting.extend(part for part, _ in made_of[pk])
    return needed


def _harvested(rows):
    """{harvested lot: (source, line)}: as the mother states where she states all and no father is known, otherwise derived."""
    found, crosses, facts = {}, {}, {}
    for row in rows.values():
        if row.mother_id is None:
            continue
        mother = facts.get(row.mother_id) or _facts(row[_MOTHER], facts)
        father = row.father_id
        if father is None and row.cross_type == choices.CrossType.SELF:
            father = row.mother_id
        elif father is not None and father not in facts:
            _facts(row[_FATHER], facts)
        if father is None and row.pollen_pool_id is None and not needs_parents(mother):
            found[row.pk] = (_stated(mother.source), _stated(mother.line))
        else:
            crosses[row.pk] = TreeFacts(row.mother_id, father, row.pollen_pool_id)
    return found | _derived(crosses, facts) if crosses else found


def _facts(values, facts):
    row = TreeRow(*values)
    facts[row.pk] = tree_facts(row)
    return facts[row.pk]


def _derived(crosses, facts):
    """The same for crosses of which more must be read; `facts` holds their parents."""
    pools, sorts = summed_pools({cross.pool for cross in crosses.values()} - {None})
    wanted = {member for pool in pools.values() for member, _ in pool.members if isinstance(member, int)} - facts.keys()
    trees = {pk: facts[pk] for cross in crosses.values() for pk in (cross.mother, cross.father) if pk is not None}
    trees |= {member: facts[member] for pool in pools.values() for member, _ in pool.members if member in facts}
    for pk, tree in trees.items():
        if needs_parents(tree):
            wanted |= {tree.mother, tree.father, pk if tree.pool else None}
    above, more_pools = ancestor_rows(wanted - {None}, lambda row: needs_parents(tree_facts(row)))
    trees |= {pk: tree_facts(row) for pk, row in (above | sorts).items()}
    # told apart from the pools of trees, which are not summed
    pools = {("lots", pk): pool for pk, pool in pools.items() if pool.members}
    for pk, cross in crosses.items():
        if cross.father is not None:
            trees["lot", pk] = cross
        elif ("lots", cross.pool) in pools:
            trees["lot", pk] = cross._replace(pool=("lots", cross.pool))
    found = _derive(trees, pools | more_pools)[0]
    lineages = {pk: found.get(("lot", pk)) or found[cross.mother] for pk, cross in crosses.items()}
    return {pk: (lineage.source, lineage.line) for pk, lineage in lineages.items()}


def _traits_of_all(rows, made_of, harvested):
    order = TopologicalSorter({pk: [part for part, _ in parts] for pk, parts in made_of.items()})
    with suppress(CycleError):  # the sorter still gives every lot that is not part of a loop
        order.prepare()
    traits = {}
    while ready := order.get_ready():
        for pk in ready:
            traits[pk] = _traits(rows[pk], [(traits[part], count) for part, count in made_of[pk]], harvested)
        order.done(*ready)
    return traits


def _traits(row, parts, harvested):
    own = _generation(row.backcrosses, row.intercrosses, row.generation_other)
    if row.origin == choices.LotOrigin.HARVEST:
        return _Traits(row.mother__code, f"{row.mother__code} × {_pollen(row)}, {row.year}", *harvested[row.pk], own)
    if row.origin == choices.LotOrigin.OUTSIDE:
        return _Traits(OUTSIDE, OUTSIDE, _stated(row.declared_source), _stated(row.declared_line), own)
    if row.origin == choices.LotOrigin.BULK:
        source, line = _together([(part.source, count) for part, count in parts]), _together([(part.line, count) for part, count in parts])
        return _Traits(BULK, BULK, source, line, _all_generations([part.generations for part, _ in parts]) or own)
    [(parent, _)] = parts
    return _Traits(parent.mother, parent.family, parent.source, parent.line, parent.generations or own)


@cache
def _generation(backcrosses, intercrosses, other):
    if backcrosses is None and not other:
        return frozenset()
    return frozenset([Generation(backcrosses, intercrosses, other).code.strip()])


def _pollen(row):
    if row.cross_type == choices.CrossType.SELF or row.father_id == row.mother_id:
        return "self"
    words = {choices.CrossType.OPEN: "OP", choices.CrossType.POLYMIX: "polymix"}
    return row.father__code or row.pollen_pool__code or words.get(row.cross_type, "father not stated")


@cache
def _one(label):
    return {label: Fraction(1)}


def _stated(text):
    return _one(text.strip()) if text.strip() else {}


def _together(parts):
    """Everything the components state, by their counts; a component that states nothing is named as such beside the others."""
    return blended_labels(parts) if parts else {}


def _all_generations(sets):
    stated = frozenset().union(*sets)
    return stated | {NOT_STATED} if stated and not all(sets) else stated


def _lineage(code, traits, labels):
    """Labels are written once for each mixture: lots that are alike share it."""
    for mixture in (traits.source, traits.line):
        if id(mixture) not in labels:
            labels[id(mixture)] = mixture_label(mixture)
    source, line = labels[id(traits.source)], labels[id(traits.line)]
    return Lineage(code, traits.mother, traits.family, source, line, _generation_label(traits.generations))


def _generation_label(values):
    if len(values) > 1:
        return f"mixed ({', '.join(sorted(values, key=lambda value: (value == NOT_STATED, value)))})"
    return next(iter(values), NOT_STATED)
