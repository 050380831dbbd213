"""Diversity of trees, lots, pools and orchards."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import LotComponent
from registry.selectors.orchard.diversity import crop_of_lot, crop_of_pool, group_diversity
from registry.selectors.pedigree.numbers import tree_numbers
from tests import factories
from tests.registry.pedigree.pedigree_records import pool_of, text

pytestmark = pytest.mark.django_db


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
