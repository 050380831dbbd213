"""Lineages of lots. What each rule must give follows the programme's own rule, stated in each test: common practice, no source."""

import pytest

from registry.calc.pedigree.mixtures import mixture_label
from registry.models import Lot, LotComponent, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.pedigree.lineage import Lineage, lot_lineages, tree_lineage
from registry.services.lots.ledger import lot_bulk
from tests import factories

pytestmark = pytest.mark.django_db


def mother(code, source="", line="", **fields):
    return factories.pedigree_tree(code=code, source_of_resistance=source, recurrent_line=line, **fields)


def harvest(tree, **fields):
    return factories.seed_lot(mother=tree, **{"year": 2019, "cross_type": "open"} | fields)


def lineage(lot):
    return lot_lineages([lot])[lot.pk]


def bulk_of(*components, code="BULK"):
    bulk = factories.stock_lot(code=code, kind=components[0].kind, origin="bulk", outside_origin="")
    actor = factories.person()
    for component in components:
        factories.ledger_enter(actor=actor, lot=component, kind="counted", quantity=5, on=factories.day(2019), reason="found")
        lot_bulk(actor=actor, bulk=bulk, component=component, count=2, on=factories.day(2020))
    return bulk


def test_a_harvest_has_its_mothers_lineage_and_own_generation():
    lot = harvest(mother("KW-1", "Heron", "L7"), code="S19-KW-1", backcrosses=3, intercrosses=2)
    assert lineage(lot) == Lineage("S19-KW-1", "KW-1", "KW-1 × OP, 2019", "Heron", "L7", "B3F3")


def test_seed_does_not_take_the_generation_of_its_mother():
    lot = harvest(mother("KW-1", "Heron", backcrosses=3, intercrosses=1))
    assert lineage(lot).generation == "not stated"


@pytest.mark.parametrize(
    ("fields", "family"),
    [
        ({"cross_type": "open"}, "KW-1 × OP, 2019"),
        ({"cross_type": "polymix"}, "KW-1 × polymix, 2019"),
        ({"cross_type": "self"}, "KW-1 × self, 2019"),
        ({"cross_type": "controlled"}, "KW-1 × father not stated, 2019"),
        ({"cross_type": "unknown"}, "KW-1 × father not stated, 2019"),
    ],
)
def test_a_family_is_mother_cross_and_year(fields, family):
    assert lineage(harvest(mother("KW-1"), **fields)).family == family


def test_a_family_names_its_father_or_pollen_pool():
    tree = mother("KW-1")
    father, pool = mother("KW-2"), PollenPool.objects.create(code="POOL-A-2018", orchard="A", flowering_year=2018)
    assert lineage(harvest(tree, father=father, cross_type="controlled")).family == "KW-1 × KW-2, 2019"
    assert lineage(harvest(tree, pollen_pool=pool)).family == "KW-1 × POOL-A-2018, 2019"
    assert lineage(harvest(tree, father=tree, cross_type="controlled")).family == "KW-1 × self, 2019"


def test_a_selfed_tree_has_the_lineage_of_its_mother_alone():
    selfed = mother("KW-2", mother=mother("KW-1", "Heron", "L7"), cross_type="self")
    assert tree_lineage(selfed)[0].line == {"L7": 1}
    lot = lineage(harvest(selfed, father=selfed, cross_type="controlled"))
    assert (lot.source, lot.line) == ("Heron", "L7")


def test_a_father_of_another_source_or_line_makes_it_mixed():
    tree = mother("KW-1", "Otter", "L7")
    other = lineage(harvest(tree, father=mother("KW-2", "Heron", "L9"), cross_type="controlled"))
    assert (other.source, other.line) == ("mixed (Heron 1/2, Otter 1/2)", "mixed (L7 1/2, L9 1/2)")
    same = lineage(harvest(tree, father=mother("KW-3", "Otter", ""), cross_type="controlled"))
    assert (same.source, same.line) == ("Otter", "L7")


def test_a_mother_that_states_nothing_is_named_beside_the_father():
    tree = mother("KW-1", backcrosses=2, intercrosses=0)
    known = lineage(harvest(tree, father=mother("KW-2", "Heron", "L9", backcrosses=2, intercrosses=0), cross_type="controlled"))
    assert (known.source, known.line) == ("mixed (Heron 1/2, not stated 1/2)", "mixed (L9 1/2, not stated 1/2)")


def test_a_native_mother_has_no_source_so_it_is_the_fathers():
    tree = mother("N-1", line="L4", generation_other="native")
    known = lineage(harvest(tree, father=mother("KW-2", "Heron", "L9", backcrosses=2, intercrosses=0), cross_type="controlled"))
    assert (known.source, known.line) == ("Heron", "L4")  # a backcross is of the line of its native parent


def test_a_raised_lot_has_the_lineage_of_its_parent():
    seed = harvest(mother("KW-1", "Heron", "L7"), backcrosses=3, intercrosses=2)
    stock = factories.stock_lot(code="P20", origin="sown", parent=seed, outside_origin="")
    again = factories.stock_lot(code="P21", origin="sown", parent=stock, outside_origin="")
    assert lineage(again) == Lineage("P21", "KW-1", "KW-1 × OP, 2019", "Heron", "L7", "B3F3")


def test_a_bulk_has_what_its_components_share_and_else_mixed():
    one = harvest(mother("KW-1", "Heron", "L7"), backcrosses=3, intercrosses=2)
    two = harvest(mother("KW-2", "Heron", "L9"), backcrosses=3, intercrosses=2)
    bulk = bulk_of(one, two)
    assert lineage(bulk) == Lineage("BULK", "bulk", "bulk", "Heron", "mixed (L7 1/2, L9 1/2)", "B3F3")
    stock = factories.stock_lot(code="P20", origin="sown", parent=bulk, outside_origin="")
    assert lineage(stock) == Lineage("P20", "bulk", "bulk", "Heron", "mixed (L7 1/2, L9 1/2)", "B3F3")


def test_a_bulk_of_bulks_is_followed_to_its_components():
    inner = bulk_of(harvest(mother("KW-1", "Heron", "L7")), harvest(mother("KW-2", "Otter", "L7")), code="INNER")
    outer = bulk_of(inner, harvest(mother("KW-3", "", "L7")), code="OUTER")
    assert lineage(outer).source == "mixed (Heron 1/4, Otter 1/4, not stated 1/2)"
    assert (lineage(outer).line, lineage(outer).generation) == ("L7", "not stated")


def test_a_bulk_without_components_has_only_its_own_generation():
    bulk = factories.stock_lot(code="B", origin="bulk", outside_origin="", backcrosses=3, intercrosses=2)
    assert lineage(bulk) == Lineage("B", "bulk", "bulk", "not stated", "not stated", "B3F3")


def test_a_bulk_weighs_its_components_by_their_counts():
    one, two = harvest(mother("KW-1", "Heron", "L7")), harvest(mother("KW-2", "Otter", "L7"))
    bulk = factories.stock_lot(code="B", kind="seed", origin="bulk", outside_origin="")
    for lot, count in ((one, 300), (two, 100)):
        LotComponent.objects.create(bulk=bulk, component=lot, count=count, bulked_on=factories.day(2020))
    assert (lineage(bulk).source, lineage(bulk).line) == ("mixed (Heron 3/4, Otter 1/4)", "L7")


def test_a_lot_split_from_another_has_its_lineage():
    seed = harvest(mother("KW-1", "Heron", "L7"), backcrosses=3, intercrosses=2)
    part = factories.seed_lot(code="PART", mother=seed.mother)
    Lot.objects.filter(pk=part.pk).update(origin="split", parent=seed, mother=None, year=None)
    assert lineage(part) == Lineage("PART", "KW-1", "KW-1 × OP, 2019", "Heron", "L7", "B3F3")


def backcross_mother(code):
    """A tree that states nothing: its source begins at an F1, its line at its native grandmother."""
    first = mother(f"F1-{code}", "Heron", mother=mother(f"N-{code}", line="L7"), father=donor(code), backcrosses=0, intercrosses=0)
    return mother(code, mother=mother(f"M-{code}", line="L9"), father=first, backcrosses=1, intercrosses=0)


def donor(code):
    return mother(f"J-{code}", generation_other="donor", taxon=factories.taxon(role="donor"))


def test_what_a_mother_does_not_state_follows_from_her_ancestors():
    lot = harvest(backcross_mother("KW-1"))
    assert (lineage(lot).source, lineage(lot).line) == ("Heron", "L9")


def pool_of(*members, **fields):
    pool = PollenPool.objects.create(**{"code": "POOL", "orchard": "A", "flowering_year": 2018} | fields)
    for tree, weight in members:
        PollenPoolMember.objects.create(pool=pool, tree=tree, weight=weight)
    return pool


def orchard_tree(code, source, line):
    return mother(code, source, line, backcrosses=3, intercrosses=1)


def test_the_trees_of_a_pollen_pool_are_the_father():
    trees = [orchard_tree("KW-1", "Heron", "L7"), orchard_tree("KW-2", "Heron", "L7"), orchard_tree("KW-3", "Otter", "L9")]
    lot = harvest(trees[0], pollen_pool=pool_of(*((tree, None) for tree in trees)))
    assert (lineage(lot).source, lineage(lot).line) == ("mixed (Heron 3/4, Otter 1/4)", "mixed (L7 3/4, L9 1/4)")
    PollenPoolMember.objects.filter(tree=trees[1]).update(weight=3)
    PollenPoolMember.objects.exclude(tree=trees[1]).update(weight=1)
    assert lineage(lot).source == "mixed (Heron 7/8, Otter 1/8)"


def test_members_without_statements_are_followed_to_their_parents():
    tree = orchard_tree("KW-1", "Heron", "L7")
    pool = pool_of((backcross_mother("KW-2"), None), outside_share="0.5", outside_taxon=factories.taxon())
    assert lineage(harvest(tree, pollen_pool=pool)) == Lineage(
        "S" + Lot.objects.get().code[1:], "KW-1", "KW-1 × POOL, 2019", "Heron", "mixed (L7 3/4, L9 1/4)", "not stated"
    )


def test_with_an_inconsistent_pool_a_lot_goes_by_its_mother():
    tree, others = orchard_tree("KW-1", "Heron", "L7"), [orchard_tree(f"KW-{number}", "Otter", "L9") for number in (2, 3)]
    lot = harvest(tree, pollen_pool=pool_of())
    assert (lineage(lot).source, lineage(lot).line) == ("Heron", "L7")
    for number, other in enumerate(others):
        PollenPoolMember.objects.create(pool=lot.pollen_pool, tree=other, weight=number or None)  # some weights known, some not
    assert (lineage(lot).source, lineage(lot).line) == ("Heron", "L7")


def test_a_tree_of_open_pollination_passes_on_its_pool():
    child = mother("KW-9", mother=orchard_tree("KW-1", "Heron", "L7"), pollen_pool=pool_of((orchard_tree("KW-3", "Otter", "L9"), None)),
                   backcrosses=3, intercrosses=2)  # fmt: skip
    assert lineage(harvest(child)).source == "mixed (Heron 1/2, Otter 1/2)"
    found, contradictions = tree_lineage(child)
    assert (mixture_label(found.line), contradictions) == ("mixed (L7 1/2, L9 1/2)", [])


def test_a_statement_of_a_tree_against_its_parents_is_reported():
    tree = backcross_mother("KW-1")
    PedigreeTree.objects.filter(pk=tree.pk).update(source_of_resistance="Otter")
    found, [contradiction] = tree_lineage(tree)
    assert found.source == {"Otter": 1}
    assert contradiction.words == "The source of resistance is stated as Otter; its parents give Heron."


def test_an_outside_lot_has_what_was_declared():
    lot = factories.stock_lot(code="X", declared_source="Sable", declared_line="", backcrosses=0, intercrosses=0)
    assert lineage(lot) == Lineage("X", "outside origin", "outside origin", "Sable", "not stated", "F1")


def test_a_circle_of_origins_ends_and_states_nothing():
    seed = harvest(mother("KW-1", "Heron", "L7"))
    one = factories.stock_lot(code="A", origin="sown", parent=seed, outside_origin="")
    two = factories.stock_lot(code="B", origin="sown", parent=one, outside_origin="")
    Lot.objects.filter(pk=one.pk).update(parent=two)
    bulks = [factories.stock_lot(code=f"C{n}", origin="bulk", outside_origin="") for n in (1, 2)]
    for bulk, component in (bulks, bulks[::-1]):
        LotComponent.objects.create(bulk=bulk, component=component, count=1, bulked_on=factories.day(2020))
    found = lot_lineages()
    nothing = ("not stated",) * 5
    for lot in (one, two, *bulks):
        assert found[lot.pk] == Lineage(lot.code, *nothing)
    assert found[seed.pk].source == "Heron"


def test_lineages_cost_a_fixed_number_of_queries(django_assert_num_queries):
    for number in range(3):
        parent = harvest(mother(f"KW-{number}", "Heron"))
        for _ in range(number + 1):
            parent = factories.stock_lot(origin="sown", parent=parent, outside_origin="")
    with django_assert_num_queries(2):
        assert len(lot_lineages()) == 9
    seeds = Lot.objects.filter(kind="seed")
    with django_assert_num_queries(4):
        found = lot_lineages(seeds)
    assert set(found) == set(seeds.values_list("pk", flat=True))


def test_many_lots_give_the_same_lineages_as_few(monkeypatch):
    seed = harvest(mother("KW-1", "Heron", "L7"))
    stock = factories.stock_lot(origin="sown", parent=seed, outside_origin="")
    few = lot_lineages([seed, stock])
    monkeypatch.setattr("registry.selectors.pedigree.lineage._NAMED_MAX", 1)
    assert lot_lineages([seed, stock]) == few == lot_lineages()


def test_lots_of_pollen_pools_cost_a_fixed_number_of_queries(django_assert_num_queries):
    def lots_of(number):
        trees = [orchard_tree(f"KW-{number}-{place}", "Heron", f"L{place}") for place in range(4)]
        pool = pool_of(*((tree, None) for tree in trees), (backcross_mother(f"B-{number}"), None), code=f"POOL-{number}")
        for tree in trees:
            harvest(tree, pollen_pool=pool)
        harvest(backcross_mother(f"C-{number}"), pollen_pool=pool)

    lots_of(1)
    with django_assert_num_queries(7):  # components, lots, pools, members, and three generations above them
        lot_lineages()
    lots_of(2)
    lots_of(3)
    with django_assert_num_queries(7):
        assert len(lot_lineages()) == 15
