"""Pedigree and shares of trees and lots. Shares: Allard 1960, Principles of Plant Breeding, backcross chapter; inbreeding: Falconer & Mackay 1996
(both from memory); the rest by hand."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import Lot, LotComponent, PedigreeTree, PollenPoolMember
from registry.selectors.orchard.diversity import group_diversity
from registry.selectors.pedigree.numbers import lot_numbers, tree_numbers
from tests import factories
from tests.registry.pedigree.pedigree_records import pool_of, text

pytestmark = pytest.mark.django_db


HALF = Fraction(1, 2)


def test_exact_shares_of_species_and_founders(book):
    for step in range(4):
        numbers = tree_numbers(book[f"B{step}"])
        assert numbers.native == 1 - HALF ** (step + 1)
        assert numbers.donor == HALF ** (step + 1)
        assert dict(numbers.species) == {"Juglans cinerea": numbers.native, "Juglans ailantifolia": numbers.donor}
        assert (numbers.depth, numbers.inbreeding, numbers.not_known) == (step + 1, 0, 0)
    founders = {founder.name: founder.share for founder in numbers.founders}
    assert founders == {"N3": HALF, "N2": Fraction(1, 4), "N1": Fraction(1, 8), "N0": Fraction(1, 16), "J": Fraction(1, 16)}


def test_a_founder_is_itself(book):
    numbers = tree_numbers(book["N0"])
    assert [(founder.name, founder.share) for founder in numbers.founders] == [("N0", 1)]
    assert (numbers.native, numbers.depth, numbers.inbreeding) == (1, 0, 0)


@pytest.mark.parametrize(
    ("mother", "father", "expected"), [("B3", "B3", 1 / 2), ("B3", "B2", 1 / 4), ("N1", "B1", 1 / 4), ("N1", "B3", 1 / 16)]
)
def test_inbreeding_of_a_cross_on_record(book, mother, father, expected):
    # selfing 1/2, parent and offspring 1/4; N1 is a great-grandparent of B3: (1/2)^4
    child = factories.pedigree_tree(mother=book[mother], father=book[father])
    assert tree_numbers(child).inbreeding == expected


def test_the_mother_of_a_selfed_tree_is_its_father_too(book, native):
    # selfing: F 1/2 of a tree that is not inbred itself, 3/4 after a second one; the shares of the mother (Falconer & Mackay 1996, table 5.1)
    child = factories.pedigree_tree(taxon=native, mother=book["B3"], cross_type="self")
    numbers = tree_numbers(child)
    assert (numbers.inbreeding, numbers.native, numbers.donor, numbers.not_known) == (0.5, Fraction(15, 16), Fraction(1, 16), 0)
    grandchild = factories.pedigree_tree(taxon=native, mother=child, cross_type="self")
    assert tree_numbers(grandchild).inbreeding == 0.75
    assert group_diversity({child.pk: 1}).half_known == 0
    # its offspring with the mother: half of what the mother has in common with herself and her selfed child, (1/2 + 1/2) / 2
    assert lot_numbers(factories.seed_lot(mother=book["B3"], father=child)).inbreeding == 0.5


def test_unknown_parents_are_not_known_hybrids_go_by_generation(book, native):
    hybrid = factories.pedigree_tree(code="X", taxon=factories.taxon(role="hybrid"), backcrosses=1, intercrosses=0)
    child = factories.pedigree_tree(taxon=native, mother=hybrid)
    numbers = tree_numbers(child)
    assert (numbers.native, numbers.donor, numbers.not_known) == (Fraction(3, 8), Fraction(1, 8), HALF)


def test_with_a_loop_of_parents_nothing_is_calculated(book):
    PedigreeTree.objects.filter(pk=book["N1"].pk).update(mother=book["B3"])
    numbers = tree_numbers(book["B3"])
    assert numbers.founders == ()
    assert "B3 comes from B2, B2 from B1, B1 from N1, N1 from B3. Nothing comes from itself" in numbers.problems[0]


def test_a_lot_of_a_pool_is_the_mean_of_mother_and_expected_father(book, native):
    # mother B3 15/16; fathers: B2 7/8 at 3/4 x 2/3, N0 at 3/4 x 1/3, outside native at 1/4
    pool = pool_of((book["B2"], 2), (book["N0"], 1), (book["B3"], 5), outside_share=Decimal("0.25"), outside_taxon=native)
    numbers = lot_numbers(factories.seed_lot(mother=book["B3"], pollen_pool=pool))
    father = HALF * Fraction(7, 8) + Fraction(1, 4) + Fraction(1, 4)
    assert numbers.native == HALF * (Fraction(15, 16) + father)
    assert numbers.donor == 1 - numbers.native
    # B3 with its parent B2: 1/4; with N0, four generations up: (1/2)^5; outside 0
    assert numbers.inbreeding == pytest.approx(0.5 * 1 / 4 + 0.25 * 1 / 32)


def test_a_selfing_share_inbreeds_the_seed(book):
    pool = pool_of((book["N0"], None), selfing_share=Decimal("0.5"))
    assert lot_numbers(factories.seed_lot(mother=book["N2"], pollen_pool=pool)).inbreeding == 0.25
    assert lot_numbers(factories.seed_lot(mother=book["N2"], cross_type="self")).inbreeding == 0.5


def test_a_bulk_is_weighted_by_its_counts_and_passes_it_on(book):
    lots = [factories.seed_lot(mother=book["B3"], father=book["N0"]), factories.seed_lot(mother=book["N1"], father=book["N2"])]
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    for lot, count in zip(lots, (300, 100), strict=True):
        LotComponent.objects.create(bulk=bulk, component=lot, count=count, bulked_on=factories.day(2020))
    raised = factories.stock_lot(origin="sown", parent=bulk, outside_origin="")
    numbers = lot_numbers(raised)
    assert numbers.donor == Fraction(3, 4) * Fraction(1, 32)
    assert numbers.inbreeding == pytest.approx(0.75 / 32)
    assert sum(founder.share for founder in numbers.founders) == 1


def test_lots_of_outside_origin_and_unknown_fathers(book):
    outside = lot_numbers(factories.stock_lot(outside_origin="Elder's nursery", taxon=factories.taxon(role="hybrid")))
    assert [(founder.name, founder.share) for founder in outside.founders] == [("Elder's nursery", 1)]
    assert (outside.native, outside.not_known) == (0, 1)
    open_lot = lot_numbers(factories.seed_lot(mother=book["B3"]))
    assert (open_lot.not_known, open_lot.native) == (HALF, Fraction(15, 32))
    empty = lot_numbers(factories.stock_lot(origin="bulk", outside_origin=""))
    assert [founder.name for founder in empty.founders] == ["nothing mixed in yet"]


@pytest.mark.parametrize(
    ("role", "fields", "expected"),
    [
        ("native", {}, (1, 0, 0)),
        ("donor", {}, (0, 1, 0)),
        ("hybrid", {"backcrosses": 2, "intercrosses": 0}, (Fraction(7, 8), Fraction(1, 8), 0)),
        # the declared generation speaks before the species
        ("native", {"backcrosses": 3, "intercrosses": 0}, (Fraction(15, 16), Fraction(1, 16), 0)),
        # a source of resistance in a native lot of no declared generation: crosses nobody wrote down
        ("native", {"declared_source": "Heron"}, (0, 0, 1)),
    ],
)
def test_a_lot_from_outside_counts_by_generation_or_species(role, fields, expected):
    # Allard 1960, Principles of Plant Breeding, backcross chapter: 1 - (1/2)^(t + 1)
    lot = factories.stock_lot(taxon=factories.taxon(role=role), **fields)
    numbers = lot_numbers(lot)
    assert (numbers.native, numbers.donor, numbers.not_known) == expected
    raised = lot_numbers(factories.stock_lot(origin="split", parent=lot, outside_origin=""))
    assert (raised.native, raised.donor, raised.not_known) == expected


def test_a_third_species_is_named_as_such_and_not_as_not_known(signed_in, book):
    third = factories.taxon(name="Juglans nigra", role="other")
    lot = factories.stock_lot(taxon=third)
    page = text(signed_in.get(reverse("lot_numbers", args=[lot.pk])))
    assert "Expected: 0 native species, 0 donor species, 1 other species." in page
    cross = factories.pedigree_tree(
        taxon=third, mother=book["N0"], father=factories.pedigree_tree(taxon=third, generation_other=""), generation_other=""
    )
    page = text(signed_in.get(reverse("pedigreetree_numbers", args=[cross.pk])))
    assert "Expected: 1/2 (0.5) native species, 0 donor species, 1/2 (0.5) other species." in page


def test_sibs_of_a_pollen_pool_are_related_through_it(book):
    mother, father, other = book["N0"], book["N1"], book["N2"]
    pool = pool_of((father, None))
    sibs = [factories.pedigree_tree(mother=mother, pollen_pool=pool) for _ in range(2)]
    # Falconer & Mackay 1996, ch. 5 (from memory): full sibs 1/4
    assert tree_numbers(factories.pedigree_tree(mother=sibs[0], father=sibs[1])).inbreeding == 0.25
    assert lot_numbers(factories.seed_lot(mother=sibs[0], father=sibs[1])).inbreeding == 0.25
    PollenPoolMember.objects.create(pool=pool, tree=other)
    # by hand: half the way from half sibs (1/8) to full sibs (1/4)
    assert tree_numbers(factories.pedigree_tree(mother=sibs[0], father=sibs[1])).inbreeding == 3 / 16


def test_with_too_many_ancestors_a_pool_counts_as_unrelated(signed_in, book, monkeypatch):
    sibs = [factories.pedigree_tree(mother=book["N0"], pollen_pool=pool) for pool in [pool_of((book["N1"], None))] * 2]
    child = factories.pedigree_tree(mother=sibs[0], father=sibs[1])
    address = reverse("pedigreetree_numbers", args=[child.pk])
    assert "0.25; a pollen pool counts as the mean of its trees" in text(signed_in.get(address))
    monkeypatch.setattr("registry.selectors.pedigree.reading.KINSHIP_MAX", 3)
    assert "0.125 or more: there are too many ancestors to calculate with" in text(signed_in.get(address))


def test_declared_outside_pollen_does_not_make_a_generation_odd(signed_in, book, native):
    # mothers and members are B3 (15/16): so is the seed, but for the outside pollen. By hand: 15/32 + (9/10 x 15/16 + 1/10)/2 = 301/320
    sibs = [factories.pedigree_tree(mother=book["N3"], father=book["B2"], backcrosses=3, intercrosses=0) for _ in range(2)]
    pool = pool_of((book["B3"], None), (sibs[0], None), outside_share=Decimal("0.1"), outside_taxon=native)
    lot = factories.seed_lot(mother=sibs[1], pollen_pool=pool, backcrosses=3, intercrosses=1)
    numbers = lot_numbers(lot)
    assert (numbers.native, numbers.native_inside) == (Fraction(301, 320), Fraction(15, 16))
    page = text(signed_in.get(reverse("lot_numbers", args=[lot.pk])))
    assert "its parents give 15/16 too; with the declared outside pollen it is 301/320." in page
    assert "Check generation and parents." not in page
    PollenPoolMember.objects.create(pool=pool, tree=book["N1"])
    # by hand: the fathers are 15/16, 15/16 and 1 native, the mean with the mother's 15/16 is 91/96
    page = text(signed_in.get(reverse("lot_numbers", args=[lot.pk])))
    assert "its parents give 91/96 without the declared outside pollen. Check generation and parents." in page


def test_pages_of_a_lot_made_of_itself_name_the_loop(signed_in):
    stock = factories.stock_lot(code="Q-STOCK")
    part = factories.stock_lot(code="Q-PART", origin="split", parent=stock, outside_origin="")
    Lot.objects.filter(pk=stock.pk).update(origin="split", parent=part, outside_origin="")
    for route in ("lot_diversity", "lot_numbers"):
        assert "Q-STOCK comes from Q-PART, Q-PART from Q-STOCK" in text(signed_in.get(reverse(route, args=[stock.pk])))


def test_an_inconsistent_pool_is_named_and_gives_no_father(book):
    pool = pool_of((book["B2"], 2), (book["N0"], None))
    numbers = lot_numbers(factories.seed_lot(mother=book["B3"], pollen_pool=pool))
    assert numbers.not_known == HALF
    assert "Pollen pool POOL cannot be read" in numbers.problems[0]
    assert len(numbers.problems) == 1


# -- queries -----------------------------------------------------------------------------------


def test_reading_a_tree_costs_a_query_a_generation_not_a_tree(django_assert_num_queries, book):
    wide = [factories.pedigree_tree(mother=factories.pedigree_tree(), father=factories.pedigree_tree()) for _ in range(2)]
    child = factories.pedigree_tree(mother=wide[0], father=wide[1])
    with django_assert_num_queries(4):  # three generations and the names
        tree_numbers(child)
    with django_assert_num_queries(6):
        tree_numbers(book["B3"])


def test_a_pool_costs_the_same_for_two_members_and_for_many(django_assert_num_queries, book):
    pool = pool_of((book["B2"], None), (book["B1"], None))
    lot = factories.seed_lot(mother=book["B3"], pollen_pool=pool)
    with CaptureQueriesContext(connection) as captured:
        lot_numbers(lot)
    few = len(captured)
    for _ in range(12):
        PollenPoolMember.objects.create(pool=pool, tree=factories.pedigree_tree(mother=book["B1"], father=book["B2"]))
    with django_assert_num_queries(few):
        lot_numbers(lot)
