"""Records are looked for by whole numbers of any size. SQLite's driver raises for one of more than 64 bits, that is from 2**63 on
and below -2**63 (sqlite.org/datatype3.html); PostgreSQL compares it."""

import pytest

from plantings.models import Planting, Tree
from registry.models import Lot
from tests import factories

pytestmark = pytest.mark.django_db

ABOVE, BELOW = (2**63, 10**30, 10**400), (-(2**63) - 1, -(10**40))


@pytest.fixture
def tree():
    return factories.trees(factories.planting(), count=1)[0]


@pytest.mark.parametrize("number", ABOVE + BELOW, ids=lambda number: f"{number.bit_length()} bits")
def test_no_record_has_a_number_of_more_than_64_bits(tree, number):
    lots, trees, plantings = Lot.objects.all(), Tree.objects.all(), Planting.objects.all()
    for rows, named in ((lots, "pk"), (lots, "year"), (lots, "parent"), (trees, "planting"), (plantings, "crew"), (plantings, "trees")):
        assert not rows.filter(**{f"{named}__in": [number]}).exists(), named
        assert not rows.filter(**{named: number}).exists(), named
    assert trees.filter(planting__in=[number, tree.planting_id]).get() == tree
    assert not trees.exclude(planting__in=[number, tree.planting_id]).exists()


@pytest.mark.parametrize("number", ABOVE + BELOW, ids=lambda number: f"{number.bit_length()} bits")
def test_every_record_is_below_or_above_such_a_number(tree, number):
    is_above = number > 0
    for named in ("lt", "lte"):
        assert Tree.objects.filter(**{f"planting__{named}": number}).exists() is is_above
    for named in ("gt", "gte"):
        assert Tree.objects.filter(**{f"planting__{named}": number}).exists() is not is_above
    assert Lot.objects.filter(year__range=(1, number)).exists() is is_above


def test_the_largest_numbers_of_64_bits_are_compared_as_they_are(tree):
    assert Tree.objects.filter(planting__gt=-(2**63), planting__lt=2**63 - 1).get() == tree
    assert not Tree.objects.filter(planting__in=[-(2**63), 2**63 - 1]).exists()
