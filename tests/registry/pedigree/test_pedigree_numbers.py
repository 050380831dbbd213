"""Pedigree and shares of trees and lots. Shares: Allard 1960, Principles of Plant Breeding, backcross chapter; inbreeding: Falconer & Mackay 1996
(both from memory); the rest by hand."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import Lot, LotComponent, PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.orchard.diversity import crop_of_lot, crop_of_pool, group_diversity
from registry.selectors.pedigree.numbers import lot_numbers, tree_numbers
from registry.selectors.pedigree.picture import lot_picture, tree_picture
from registry.services.orchard.shares import share_enter
from tests import factories

pytestmark = pytest.mark.django_db

HALF = Fraction(1, 2)


@pytest.fixture
def native():
    return factories.taxon(name="Juglans cinerea", role="native")


@pytest.fixture
def donor():
    return factories.taxon(name="Juglans ailantifolia", role="donor")


@pytest.fixture
def book(native, donor):
    """A programme of three backcrosses, {code: tree}: each to another native tree."""
    trees = {"J": factories.pedigree_tree(code="J", taxon=donor, generation_other="donor")}
    for step in range(4):
        trees[f"N{step}"] = factories.pedigree_tree(code=f"N{step}", taxon=native)
        father = trees[f"B{step - 1}"] if step else trees["J"]
        trees[f"B{step}"] = factories.pedigree_tree(
            code=f"B{step}", taxon=native, mother=trees[f"N{step}"], father=father, backcrosses=step, intercrosses=0
        )
    return trees


@pytest.fixture
def signed_in(client):
    client.force_login(factories.person("lead"))
    return client


def text(response):
    return " ".join(response.content.decode().split())


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


def pool_of(*members, **fields):
    pool = PollenPool.objects.create(**{"code": "POOL", "orchard": "A", "flowering_year": 2018} | fields)
    for tree, weight in members:
        PollenPoolMember.objects.create(pool=pool, tree=tree, weight=weight)
    return pool


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


# -- drawing -----------------------------------------------------------------------------------


def test_the_drawing_reads_only_the_generations_it_shows(django_assert_num_queries, book):
    deep = book["B3"]
    for _ in range(6):
        deep = factories.pedigree_tree(mother=deep, father=factories.pedigree_tree())
    with django_assert_num_queries(7):  # the tree, five generations, the names
        picture = tree_picture(deep)
    assert len(picture.labels) == 11
    assert set(picture.labels) >= {key for found in picture.parents.values() for _, key in found if picture.parents.get(key)}


def test_the_picture_of_a_bulk_shows_its_largest_components(book):
    bulk = factories.stock_lot(code="BULK", kind="seed", origin="bulk", outside_origin="")
    for count in range(1, 10):
        lot = factories.seed_lot(code=f"S-{count}", mother=book["B3"], pollen_pool=None)
        LotComponent.objects.create(bulk=bulk, component=lot, count=count, bulked_on=factories.day(2020))
    picture = lot_picture(bulk)
    labels = [picture.labels[key].code for _, key in picture.parents[picture.start]]
    assert labels == ["S-9", "S-8", "S-7", "S-6", "S-5", "S-4", "and 3 more"]


# -- pages -------------------------------------------------------------------------------------


def test_the_page_of_a_tree_answers_first_and_draws(signed_in, book):
    page = text(signed_in.get(reverse("pedigreetree_numbers", args=[book["B3"].pk])))
    assert "Expected: 15/16 (0.9375) native species, 1/16 (0.0625) donor species." in page
    # Hill 1993: 15/16 +- 2 SD of 16 chromosomes of 1 Morgan; SD = 0.031832 x sqrt(12/16), so 0.88 to 0.99
    assert "B3 averages 15/16; most single trees are between 0.88 and 0.99 native" in page
    for tree in book.values():
        assert reverse("pedigreetree_detail", args=[tree.pk]) in page
    assert 'aria-label="N3 mother, native, Juglans cinerea"' in page
    assert "The same as a list" in page
    assert "style=" not in page
    assert page.index("Expected: 15/16") < page.index('class="pedigree"')


def test_measured_shares_do_not_change_the_expected_ones(signed_in, book):
    share_enter(
        actor=factories.person("lead"), tree=book["B3"], donor_share=Decimal("0.2"), method="markers", sampled_on=factories.day(2019)
    )
    page = text(signed_in.get(reverse("pedigreetree_numbers", args=[book["B3"].pk])))
    assert "0.2000" in page
    assert "Expected: 15/16 (0.9375) native species" in page


def test_a_generation_its_parents_do_not_bear_out_is_said(signed_in, book):
    PedigreeTree.objects.filter(pk=book["B3"].pk).update(backcrosses=2)
    page = text(signed_in.get(reverse("pedigreetree_numbers", args=[book["B3"].pk])))
    assert "Its generation B2 averages 7/8 native; its parents give 15/16." in page


def test_the_page_of_a_tree_shows_its_share_by_its_parents(signed_in, book):
    PedigreeTree.objects.filter(pk=book["B0"].pk).update(source_of_resistance="Heron")
    PedigreeTree.objects.filter(pk=book["N3"].pk).update(recurrent_line="L9")
    url = reverse("pedigreetree_detail", args=[book["B3"].pk])
    page = text(signed_in.get(url))
    assert "Heron, by its parents" in page
    assert "L9, by its parents" in page
    assert reverse("pedigreetree_numbers", args=[book["B3"].pk]) in page
    PedigreeTree.objects.filter(pk=book["B3"].pk).update(source_of_resistance="Otter")
    assert "The source of resistance is stated as Otter; its parents give Heron." in text(signed_in.get(url))


def test_the_page_of_a_lot(signed_in, book):
    lot = factories.seed_lot(code="S18", mother=book["B3"], father=book["B2"])
    page = text(signed_in.get(reverse("lot_numbers", args=[lot.pk])))
    assert "Expected: 29/32 (0.90625) native species" in page
    assert "Expected inbreeding of its seed" in page
    assert "0.25;" in page


# -- diversity ---------------------------------------------------------------------------------


def test_diversity_of_unrelated_and_of_related_trees(book):
    unrelated = group_diversity({book[f"N{step}"].pk: 1 for step in range(4)})
    assert (unrelated.status_number, unrelated.group_coancestry, unrelated.effective_number) == (4, 0.125, 4)
    assert [share for _, share in unrelated.best] == pytest.approx([0.25] * 4)
    sibs = [factories.pedigree_tree(mother=book["N0"], father=book["N1"]) for _ in range(5)]
    # Lindgren, Gea & Jefferson 1997: 2n/(n + 1) for one full-sib family of 5
    assert group_diversity({tree.pk: 1 for tree in sibs}).status_number == pytest.approx(1.6667, abs=5e-5)


def test_diversity_counts_a_pool_among_the_ancestors_as_its_trees(book):
    pool = pool_of((book["N1"], None), (book["N2"], None))
    sibs = [factories.pedigree_tree(mother=book["N0"], pollen_pool=pool) for _ in range(2)]
    child = factories.pedigree_tree(mother=sibs[0], father=sibs[1])
    found = group_diversity({tree.pk: 1 for tree in sibs})
    # by hand: with themselves 1/2, with each other 3/16
    assert (found.group_coancestry, found.half_known) == ((1 / 2 + 3 / 16) / 2, 0)
    assert group_diversity({child.pk: 1}).inbreeding == tree_numbers(child).inbreeding == 3 / 16


def test_a_large_orchard_gives_the_same_number_without_the_matrix(book, monkeypatch):
    trees = {factories.pedigree_tree(mother=book["N0"], father=book["N1"]).pk: 1 for _ in range(5)}
    unequal = dict(zip(trees, (1, 1, 1, 1, 2), strict=True))
    small, small_unequal = group_diversity(trees), group_diversity(unequal)
    monkeypatch.setattr("registry.selectors.orchard.diversity.MATRIX_MAX", 3)
    large = group_diversity(trees)
    assert large.status_number == pytest.approx(small.status_number)
    assert (large.best, large.problem) == ((), "")
    assert group_diversity(unequal).status_number == pytest.approx(small_unequal.status_number) != small.status_number


def test_diversity_of_a_bulk_and_of_the_seed_of_a_pool(book):
    pool = pool_of((book["N2"], None), (book["N3"], None))
    lots = [factories.seed_lot(mother=book[name], pollen_pool=pool) for name in ("N0", "N1")]
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    for lot, count in zip(lots, (300, 100), strict=True):
        LotComponent.objects.create(bulk=bulk, component=lot, count=count, bulked_on=factories.day(2020))
    found, unknown = crop_of_lot(bulk)
    assert unknown == 0
    assert found.effective_number == pytest.approx(1 / (0.75**2 + 0.25**2))
    # genes: 3/8, 1/8, 1/4, 1/4 of unrelated trees
    assert found.crop.status_number == pytest.approx(1 / (9 / 64 + 1 / 64 + 1 / 16 + 1 / 16))
    assert found.crop.effective_fathers == 2
    assert crop_of_pool(pool).crop.status_number == pytest.approx(4)


def test_diversity_pages(signed_in, book):
    mothers = [factories.pedigree_tree(code=f"KW-{n}", orchard="Mill Brook", mother=book["N0"], father=book["B2"], backcrosses=3, intercrosses=0)
               for n in range(3)]  # fmt: skip
    factories.pedigree_tree(code="CHECK", orchard="Mill Brook")
    page = text(signed_in.get(reverse("orchard_diversity"), {"orchard": "mill brook"}))
    assert "3 trees as diverse as" in page
    assert "CHECK" not in page
    lot = factories.seed_lot(mother=mothers[0])
    assert "1 tree alone. Its status number is" in text(signed_in.get(reverse("lot_diversity", args=[lot.pk])))
    assert signed_in.get(reverse("orchard_diversity"), {"orchard": "nowhere"}).status_code == 404
    assert signed_in.get(reverse("orchard_diversity")).url == reverse("orchard_list")
    outside = factories.stock_lot()
    assert "There is no tree to calculate with." in text(signed_in.get(reverse("lot_diversity", args=[outside.pk])))


def test_diversity_of_an_orchard_costs_a_fixed_number_of_queries(signed_in, book):
    def add(number):
        for _ in range(number):
            factories.pedigree_tree(
                orchard="Mill Brook", mother=factories.pedigree_tree(), father=book["B2"], backcrosses=3, intercrosses=0
            )

    def queries():
        with CaptureQueriesContext(connection) as captured:
            signed_in.get(reverse("orchard_diversity"), {"orchard": "Mill Brook"})
        return len(captured)

    add(2)
    few = queries()
    add(12)
    assert queries() == few
