"""The drawing of a pedigree, and the pages of shares and inbreeding."""

from decimal import Decimal

import pytest
from django.urls import reverse

from registry.models import LotComponent, PedigreeTree
from registry.selectors.pedigree.picture import lot_picture, tree_picture
from registry.services.orchard.shares import share_enter
from tests import factories
from tests.registry.pedigree.pedigree_records import text

pytestmark = pytest.mark.django_db


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
