"""The classes of material that lots belong to: their descent is read here, the rest is `compliance.gate.classes`."""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction

from registry.choices import TaxonRole
from registry.compliance.gate import classes, material
from registry.models import Lot, LotComponent, MaterialClass, PedigreeTree, PollenPool, PollenPoolMember, Taxon
from registry.selectors.identity.descent import linked, lots_origins

__all__ = ["LotMaterial", "class_rules", "lot_material"]


@dataclass(frozen=True, slots=True)
class LotMaterial:
    """What rules look at in a lot: its taxon, the species a hybrid descends from, its classes for certain or perhaps, forms left aside."""

    taxon: str
    parent_taxa: tuple[str, ...]
    classes: classes.Classes


def class_rules():
    """The programme's classes, as rules. A class by donor descent without a list means every donor species."""
    donors = tuple(Taxon.objects.filter(role=TaxonRole.DONOR).values_list("name", flat=True))
    return [
        classes.ClassRule(
            row.code,
            row.title,
            row.rule,
            tuple(row.taxa) or (donors if row.rule == classes.DONOR_ANCESTRY else ()),
            tuple(row.forms),
            row.is_inherited,
        )
        for row in MaterialClass.objects.all()
    ]


def lot_material(lots, rules):
    """{lot key: LotMaterial} for some lots.

    Queries: a fixed number and two for each generation of the pedigree above these lots.
    """
    up = lots_origins({lot.pk for lot in lots})
    trees, pools = _descent(up.trees, up.pools)
    declared = defaultdict(list)
    for lot_pk, code in MaterialClass.declared_lots.through.objects.values_list("lot", "materialclass__code"):
        declared[str(lot_pk)].append(code)
    made_of = _lots(up.lots, declared)
    _tree_classes, lot_classes = classes.material_classes(rules, trees, pools, made_of)
    above = material.Descent(trees, pools, made_of).parent_taxa()
    return {lot.pk: LotMaterial(lot.taxon.name, above.get(("lot", str(lot.pk)), ()), lot_classes[str(lot.pk)]) for lot in lots}


def _key(pk):
    return str(pk) if pk else ""


def _stated(hybrid_of):
    """The species of a hybrid formula, as stated of a taxon."""
    return (hybrid_of,) if hybrid_of else ()


def _lots(keys, declared):
    components = defaultdict(list)
    for bulk, component in LotComponent.objects.order_by().values_list("bulk", "component"):
        components[bulk].append(str(component))
    rows = linked(Lot.objects, "pk", keys, "pk", "mother", "father", "pollen_pool", "parent", "taxon__name", "taxon__hybrid_of")
    return {
        str(pk): classes.Lot(
            _key(mother), _key(father), _key(pool), _key(parent), tuple(components[pk]),
            classes.Own((taxon,), declared=tuple(declared.get(str(pk), ())), parent_taxa=_stated(hybrid_of)),
        )
        for pk, mother, father, pool, parent, taxon, hybrid_of in rows
    }  # fmt: skip


def _descent(trees, pools):
    """The trees and pools above these, as far as they are recorded: a generation a step, pool members among the parents."""
    found_trees, found_pools = {}, {}
    wave, pool_wave = set(trees), set(pools)
    while wave or pool_wave:
        parents, fathers = set(), set(pool_wave)
        fields = ("pk", "mother", "father", "pollen_pool", "taxon__name", "taxon__hybrid_of", "regulated_engineered")
        for pk, mother, father, pool, taxon, hybrid_of, engineered in linked(PedigreeTree.objects, "pk", wave, *fields):
            own = classes.Own((taxon,), is_engineered=engineered, parent_taxa=_stated(hybrid_of))
            found_trees[str(pk)] = classes.Tree(_key(mother), _key(father), _key(pool), own)
            parents |= {mother, father}
            fathers.add(pool)
        fathers = {pk for pk in fathers - {None} if str(pk) not in found_pools}
        members = _pools(fathers, found_pools)
        wave = {pk for pk in (parents | members) - {None} if str(pk) not in found_trees}
        pool_wave = set()
    return found_trees, found_pools


def _pools(keys, found):
    """Read these pools into `found`; returns the keys of their members."""
    if not keys:
        return set()
    members = defaultdict(list)
    for pool, tree in linked(PollenPoolMember.objects, "pool", keys, "pool", "tree"):
        members[pool].append(tree)
    fields = ("pk", "outside_share", "outside_classes", "outside_taxon__name")
    for pk, outside, carries, outside_taxon in linked(PollenPool.objects, "pk", keys, *fields):
        share = None if outside is None else Fraction(outside)
        outside_taxa = (outside_taxon,) if outside_taxon else ()
        found[str(pk)] = classes.Pool(tuple(map(str, members[pk])), share, tuple(carries), outside_taxa)
    return {tree for trees in members.values() for tree in trees}
