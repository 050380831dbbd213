"""Diversity counts every tree, or says which it leaves out and why."""

import pytest

from registry.choices import ProgrammeKey
from registry.models import PedigreeTree, PollenPool, PollenPoolMember
from registry.selectors.orchard import diversity
from registry.selectors.orchard.diversity import crop_of_lot, group_diversity, left_out_words
from registry.selectors.orchard.floors import floor_warnings
from registry.selectors.orchard.orchard import orchard_group
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db


def bred(**fields):
    return factories.pedigree_tree(**{"orchard": "Home", "backcrosses": 3, "intercrosses": 1} | fields)


def here():
    return PedigreeTree.objects.filter(orchard="Home")


def test_what_is_not_counted_is_said_with_its_reason():
    counted = [bred(), bred(), factories.pedigree_tree(orchard="Home", generation_other="outcross")]
    factories.pedigree_tree(orchard="Home")
    factories.pedigree_tree(orchard="Home", generation_other="Donor")
    factories.pedigree_tree(orchard="Home", generation_other="donor")
    bred(status="rogued", status_reason="cankers")
    group = orchard_group(here())
    assert sorted(group.counted) == [tree.pk for tree in counted]
    assert left_out_words(group) == [
        "2 standing donor trees are not counted, as checks or parents.",
        "1 standing native tree is not counted, as a check or a parent.",
        "1 tree rogued or dead is not counted.",
    ]
    assert len(group.counted) + sum(group.checks.values()) + group.gone == here().count()


def test_an_orchard_of_native_trees_is_counted():
    natives = [factories.pedigree_tree(orchard="Home") for _ in range(3)]
    group = orchard_group(here())
    assert (sorted(group.counted), group.checks, group.gone) == ([tree.pk for tree in natives], {}, 0)
    assert group_diversity(dict.fromkeys(group.counted, 1)).status_number == pytest.approx(3)


def test_a_large_group_of_unequal_weight_is_calculated(monkeypatch):
    mother, father = bred(), bred()
    sibs = [bred(mother=mother, father=father) for _ in range(3)]
    weights = {tree.pk: number for number, tree in enumerate(sibs, start=1)}
    lot = factories.seed_lot(mother=sibs[0], father=sibs[1])
    small, crop = group_diversity(weights), crop_of_lot(lot)[0]
    monkeypatch.setattr(diversity, "MATRIX_MAX", 1)
    large, large_crop = group_diversity(weights), crop_of_lot(lot)[0]
    assert (large.problem, large.best) == ("", ())
    assert large.status_number == pytest.approx(small.status_number)
    # both ways of adding up must agree: self-coancestry 1/2 on the diagonal, full sibs 1/4 (Falconer & Mackay 1996)
    assert large_crop.crop.status_number == pytest.approx(crop.crop.status_number) == pytest.approx(4 / 3)
    assert large_crop.crop.effective_fathers == crop.crop.effective_fathers == 1


def test_pools_that_are_passed_over_are_named(monkeypatch):
    pool = PollenPool.objects.create(code="P", orchard="Home", flowering_year=2010)
    fathers = [bred(), bred()]
    PollenPoolMember.objects.bulk_create(PollenPoolMember(pool=pool, tree=tree) for tree in fathers)
    offspring = {bred(mother=fathers[0], pollen_pool=pool).pk: 1, bred(mother=fathers[0], pollen_pool=pool).pk: 1}
    assert not group_diversity(offspring).pools_unrelated
    monkeypatch.setattr(diversity, "MATRIX_MAX", 1)
    assert group_diversity(offspring).pools_unrelated


def test_the_floor_and_the_diversity_page_give_one_status_number():
    """Half sibs by a pool: with the pool as a father nobody knows they would look more diverse than they are."""
    pool = PollenPool.objects.create(code="P", orchard="Home", flowering_year=2010)
    mother, father = bred(orchard="Old"), bred(orchard="Old")
    PollenPoolMember.objects.create(pool=pool, tree=father)
    trees = [bred(mother=mother, pollen_pool=pool) for _ in range(4)]
    left = group_diversity({tree.pk: 1 for tree in trees[1:]}).status_number
    # full sibs, as the pool has one tree: 2n/(n+1) for n = 3, Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76
    assert left == pytest.approx(1.5)
    fields = {"owner": "The lead", "set_on": factories.day(2019), "basis": "test"}
    programme_setting_save(actor=factories.person(), key=ProgrammeKey.STATUS_NUMBER, value="1.6", **fields)
    assert "The status number of the orchard would be 1.5; the floor is 1.6." in floor_warnings(trees[0])
