"""What the page of pedigree and shares says of single trees: their spread, and the donor around a selected gene."""

import pytest

from registry.views.pedigree.numbers import TreeNumbersView
from tests import factories
from tests.pages import record_page

pytestmark = pytest.mark.django_db


def about(**fields):
    return record_page(TreeNumbersView, factories.person("manager"), factories.pedigree_tree(**fields)).about_average()


def test_a_backcross_says_how_much_donor_stays_around_a_gene():
    # 31.674 and 35.394 cM of 100 cM, locus in the middle, BC6: Stam & Zeven 1981, Euphytica 30:227-238 (abstract: 32 cM)
    words = about(backcrosses=6, intercrosses=0)
    assert "a chromosome of 100 cM" in words and "an unbroken 32 cM on average and 35 cM of that chromosome" in words


@pytest.mark.parametrize("fields", [{"backcrosses": 3, "intercrosses": 1}, {"backcrosses": 0, "intercrosses": 1}])
def test_after_an_intercross_no_length_is_given(fields):
    assert " cM" not in about(**fields)


def test_a_selfed_tree_has_the_wider_range():
    one = factories.pedigree_tree(backcrosses=1, intercrosses=0)
    crossed, selfed = (about(backcrosses=1, intercrosses=1, mother=one, father=father) for father in (None, one))
    assert "unselected, selfed, 16" in selfed and "selfed" not in crossed
    low, high = (float(words.split("between ")[1].split(" ")[0]) for words in (selfed, crossed))
    assert low < high
