"""The lineage of lots: what each level of a survival table is grouped by. Stated facts only; nothing is guessed."""

from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from graphlib import CycleError, TopologicalSorter

from registry import choices
from registry.calc.generation import Generation
from registry.models import Lot, LotComponent

__all__ = ["Lineage", "lot_lineages"]

NOT_STATED = "not stated"
BULK = "bulk"
OUTSIDE = "outside origin"
_NAMED_MAX = 500  # more lots than this are read with all others, not named one by one in the query
_FIELDS = (
    "pk", "code", "origin", "parent_id", "year", "cross_type", "backcrosses", "intercrosses", "generation_other",
    "declared_source", "declared_line",
    "mother_id", "mother__code", "mother__source_of_resistance", "mother__recurrent_line", "mother__generation_other",
    "father_id", "father__code", "father__source_of_resistance", "father__recurrent_line", "pollen_pool__code",
)  # fmt: skip


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
    """What a lot passes on to the lots made of it. Sets, since a bulk may hold several; empty where nothing is stated."""

    mother: str = NOT_STATED
    family: str = NOT_STATED
    sources: frozenset = frozenset()
    lines: frozenset = frozenset()
    generations: frozenset = frozenset()


def lot_lineages(lots=None):
    """Lineages of lots, by their primary key: two queries for all, three for some (four when `lots` is a queryset).

    Parameters
    ----------
    lots : iterable of Lot or queryset, optional
        All lots when left out. Parents and components are followed whether or not they are in it.

    Returns
    -------
    dict of {lot primary key: Lineage}

    Notes
    -----
    A lot whose origin runs in a circle is "not stated" at every level, and so is what was made of it.
    """
    wanted = None if lots is None else [lot.pk for lot in lots]
    components = defaultdict(list)
    for bulk_id, component_id in LotComponent.objects.order_by("bulk", "component").values_list("bulk", "component"):
        components[bulk_id].append(component_id)
    rows, made_of = _read_all(components) if wanted is None or len(wanted) > _NAMED_MAX else _read_needed(wanted, components)
    traits = _traits_of_all(rows, made_of)
    return {pk: _lineage(rows[pk].code, traits.get(pk, _Traits())) for pk in (rows if wanted is None else wanted)}


def _read_all(components):
    """Rows of all lots, and {lot: the lots it was made of}."""
    rows = {row.pk: row for row in Lot.objects.order_by().values_list(*_FIELDS, named=True)}
    return rows, {pk: _made_of(pk, row.origin, row.parent_id, components) for pk, row in rows.items()}


def _read_needed(wanted, components):
    """The same for the wanted lots and all they rest on: the origins of all lots cost little, their parents much."""
    origins = {pk: (origin, parent_id) for pk, origin, parent_id in Lot.objects.order_by().values_list("pk", "origin", "parent")}
    needed = _needed(wanted, {pk: _made_of(pk, *origin, components) for pk, origin in origins.items()})
    if len(needed) > _NAMED_MAX:
        return _read_all(components)
    rows = Lot.objects.filter(pk__in=needed).order_by().values_list(*_FIELDS, named=True)
    return {row.pk: row for row in rows}, needed


def _made_of(pk, origin, parent_id, components):
    if origin == choices.LotOrigin.BULK:
        return components[pk]
    return [parent_id] if origin == choices.LotOrigin.SOWN else []


def _needed(wanted, made_of):
    """The part of `made_of` the wanted lots rest on."""
    needed, waiting = {}, list(wanted)
    while waiting:
        pk = waiting.pop()
        if pk not in needed:
            needed[pk] = made_of[pk]
            waiting.extend(made_of[pk])
    return needed


def _traits_of_all(rows, made_of):
    order = TopologicalSorter(made_of)
    with suppress(CycleError):  # the sorter still hands out every lot that no circle holds back
        order.prepare()
    traits = {}
    while ready := order.get_ready():
        for pk in ready:
            traits[pk] = _traits(rows[pk], [traits[part] for part in made_of[pk]])
        order.done(*ready)
    return traits


def _traits(row, parts):
    own = _generation(row.backcrosses, row.intercrosses, row.generation_other)
    if row.origin == choices.LotOrigin.HARVEST:
        family = f"{row.mother__code} × {_pollen(row)}, {row.year}"
        lines = _of_parents(row, row.mother__recurrent_line, row.father__recurrent_line)
        return _Traits(row.mother__code, family, _sources(row), lines, own)
    if row.origin == choices.LotOrigin.OUTSIDE:
        return _Traits(OUTSIDE, OUTSIDE, _stated(row.declared_source), _stated(row.declared_line), own)
    if row.origin == choices.LotOrigin.SOWN:
        parent = parts[0]
        return _Traits(parent.mother, parent.family, parent.sources, parent.lines, parent.generations or own)
    return _Traits(
        BULK, BULK, _together([part.sources for part in parts]), _together([part.lines for part in parts]),
        _together([part.generations for part in parts]) or own,
    )  # fmt: skip


@cache
def _generation(backcrosses, intercrosses, other):
    if backcrosses is None and not other:
        return frozenset()
    return _stated(Generation(backcrosses, intercrosses, other).code)


def _pollen(row):
    if row.cross_type == choices.CrossType.SELF or row.father_id == row.mother_id:
        return "self"
    words = {choices.CrossType.OPEN: "OP", choices.CrossType.POLYMIX: "polymix"}
    return row.father__code or row.pollen_pool__code or words.get(row.cross_type, "father not stated")


def _sources(row):
    # a native mother carries no source of her own: what resistance there is came from the father
    native = row.mother__generation_other.strip().lower() == "native"
    if native and row.father_id and not row.mother__source_of_resistance.strip():
        return _stated(row.father__source_of_resistance)
    return _of_parents(row, row.mother__source_of_resistance, row.father__source_of_resistance)


def _of_parents(row, mothers, fathers):
    """What the mother states, and what a known father states besides. A silent mother leaves it open."""
    stated = _stated(mothers)
    return stated | _stated(fathers) if stated and row.father_id else stated


def _stated(text):
    return frozenset([text.strip()]) if text.strip() else frozenset()


def _together(sets):
    """Everything the components state; a component that states nothing is named as such beside the others."""
    stated = frozenset().union(*sets)
    return stated | {NOT_STATED} if stated and not all(sets) else stated


def _lineage(code, traits):
    return Lineage(code, traits.mother, traits.family, _label(traits.sources), _label(traits.lines), _label(traits.generations))


def _label(values):
    if len(values) > 1:
        return f"mixed ({', '.join(sorted(values, key=lambda value: (value == NOT_STATED, value)))})"
    return next(iter(values), NOT_STATED)
