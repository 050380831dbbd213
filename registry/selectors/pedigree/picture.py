"""What the drawing of a pedigree shows: the nearest ancestors of a tree or a lot, read a generation a query."""

from dataclasses import dataclass

from django.db.models import Count

from registry import choices
from registry.models import Lot, LotComponent, PedigreeTree, PollenPool
from registry.selectors.identity.descent import chunks, linked
from registry.selectors.pedigree.tree_facts import ancestor_rows

__all__ = ["GENERATIONS_SHOWN", "Picture", "PictureLabel", "lot_picture", "tree_picture"]

GENERATIONS_SHOWN = 5
_COMPONENTS_MAX = 6


@dataclass(frozen=True, slots=True)
class PictureLabel:
    """`route` and `pk` lead to its page; `note` is its generation or kind, `species` is given for founders."""

    code: str
    note: str
    species: str
    route: str
    pk: int | None


@dataclass(frozen=True, slots=True)
class Picture:
    """Parents as (role, key) by key, and a label for every key. Keys are ("tree", 7), ("pool", 2), ("lot", 5) or ("more", 5)."""

    start: tuple
    parents: dict
    labels: dict


def tree_picture(tree):
    start = ("tree", tree.pk)
    return _picture(start, {}, {}, [tree.pk], GENERATIONS_SHOWN)


def lot_picture(lot):
    """The picture of a lot: through the lots it was made of, to mothers and fathers. Of a bulk the largest components."""
    start = ("lot", lot.pk)
    parents, labels, trees, wave, step = {}, {}, set(), {lot.pk}, 0
    while wave and step <= GENERATIONS_SHOWN:
        components = _components(wave)
        rows = Lot.objects.filter(pk__in=wave).order_by("pk").select_related("taxon")
        wave = set()
        for row in rows:
            labels["lot", row.pk] = PictureLabel(row.code, row.kind, "", "lot_detail", row.pk)
            found = _lot_parents(row, components.get(row.pk, ()), labels)
            parents["lot", row.pk] = found
            trees |= {key[1] for _, key in found if key[0] == "tree"}
            wave |= {key[1] for _, key in found if key[0] == "lot"} - {key[1] for key in parents}
        step += 1
    return _picture(start, parents, labels, trees, GENERATIONS_SHOWN - 1)


def _components(bulks):
    found = {}
    rows = LotComponent.objects.filter(bulk__in=bulks).order_by("bulk", "-count", "component__code")
    for bulk, component, count in rows.values_list("bulk", "component", "count"):
        found.setdefault(bulk, []).append((component, count))
    return found


def _lot_parents(row, components, labels):
    if row.parent_id:
        return [("part of" if row.origin == choices.LotOrigin.SPLIT else "raised from", ("lot", row.parent_id))]
    if row.origin == choices.LotOrigin.BULK:
        found = [(f"component, {count:,}", ("lot", component)) for component, count in components[:_COMPONENTS_MAX]]
        if len(components) > _COMPONENTS_MAX:
            more = len(components) - _COMPONENTS_MAX
            labels["more", row.pk] = PictureLabel(f"and {more:,} more", "", "", "lot_detail", row.pk)
            found.append(("components", ("more", row.pk)))
        return found
    own = row.mother_id if row.cross_type == choices.CrossType.SELF else None
    return _two_parents(row.mother_id, row.father_id or own, row.pollen_pool_id)


def _two_parents(mother, father, pool):
    found = [("mother", ("tree", mother))] if mother else []
    if father:
        found.append(("father", ("tree", father)))
    elif pool:
        found.append(("father", ("pool", pool)))
    return found


def _picture(start, parents, labels, trees, generations):
    rows, _ = ancestor_rows(trees, generations=generations, through_pools=False)
    parents |= {("tree", row.pk): found for row in rows.values() if (found := _two_parents(row.mother, row.father, row.pool))}
    fields = ("pk", "code", "taxon__name", "backcrosses", "intercrosses", "generation_other")
    for pk, code, species, *generation in linked(PedigreeTree.objects, "pk", rows, *fields):
        note = PedigreeTree(**dict(zip(fields[3:], generation, strict=True))).generation_code
        labels["tree", pk] = PictureLabel(code, note, "" if ("tree", pk) in parents else species, "pedigreetree_detail", pk)
    for chunk in chunks({key[1] for found in parents.values() for _, key in found if key[0] == "pool"}):
        pools = PollenPool.objects.filter(pk__in=chunk).annotate(trees_in=Count("members"))
        for pool in pools:
            labels["pool", pool.pk] = PictureLabel(pool.code, f"pool of {pool.trees_in:,}", "", "pollenpool_detail", pool.pk)
    return Picture(start, parents, labels)
