"""Records by many keys in one statement."""

from uuid import uuid4

import pytest

from plantings.models import Observation, Tree
from registry.models.shared.among import Keys
from tests import factories

pytestmark = pytest.mark.django_db


def test_records_are_found_by_numbers_texts_and_identifiers(django_assert_num_queries):
    planting = factories.planting()
    factories.trees(planting, factories.stock_lot(), 3)
    first, second, third = planting.trees.order_by("pk")
    factories.observe(factories.census_round(planting), {first: "A", second: "D", third: "A"})
    record = Observation.objects.get(tree=second)
    with django_assert_num_queries(4):
        assert set(Tree.objects.filter(pk__among=Keys(range(second.pk, first.pk + 100_000)))) == {second, third}
        assert list(Tree.objects.filter(tag__among=Keys([second.tag, "no tree's", 'a "quoted" tag', ""]))) == [second]
        assert {found.tree_id for found in Observation.objects.filter(tree__among=Keys([second.pk, third.pk]))} == {second.pk, third.pk}
        assert list(Observation.objects.filter(uuid__among=Keys([record.uuid, uuid4()]))) == [record]
    assert not Tree.objects.filter(pk__among=Keys([])).exists()
