"""What an unknown parent of a native tree counts as: a setting of the programme, shown wherever it is used."""

from decimal import Decimal
from fractions import Fraction

import pytest

from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.selectors.pedigree.numbers import ASSUMED_WORDS, lot_numbers, tree_numbers
from registry.selectors.pedigree.shares import expected_donor_share, share_lines
from registry.selectors.pedigree.trees import tree_share_words
from registry.services.orchard.shares import share_enter
from registry.services.people.programme import programme_setting_save
from registry.views.orchard.shares import TreeShareView, expected_words
from registry.views.pedigree.numbers import TreeNumbersView
from tests import factories
from tests.pages import record_page

pytestmark = pytest.mark.django_db
HALF = Fraction(1, 2)


@pytest.fixture
def native():
    return factories.taxon(name="Juglans cinerea", role="native")


@pytest.fixture
def counted():
    fields = {"owner": "The lead", "set_on": factories.day(2019), "basis": "wild seed of one stand"}
    programme_setting_save(actor=factories.person(), key="unknown_native_parent", value="native", **fields)


def wild(native, **fields):
    return factories.pedigree_tree(taxon=native, mother=factories.pedigree_tree(taxon=native), **fields)


def test_an_unknown_parent_is_not_known_unless_the_programme_says_so(native):
    numbers = tree_numbers(wild(native))
    assert (numbers.native, numbers.not_known, numbers.assumed) == (HALF, HALF, 0)


def test_of_a_native_tree_it_counts_as_native(native, counted):
    for tree in (wild(native), wild(native, generation_other="")):
        numbers = tree_numbers(tree)
        assert (numbers.native, numbers.donor, numbers.not_known, numbers.assumed) == (1, 0, 0, HALF)
        assert ("unknown parents of native trees", HALF) in [(founder.name, founder.share) for founder in numbers.founders]
        assert UNKNOWN not in dict(numbers.species)
    lot = factories.seed_lot(mother=factories.pedigree_tree(taxon=native))
    assert (lot_numbers(lot).native, lot_numbers(lot).assumed) == (1, HALF)


def test_of_any_other_tree_it_stays_not_known(native, counted):
    b1 = factories.pedigree_tree(taxon=native, backcrosses=1, intercrosses=0)
    others = (
        {"mother": b1},
        {"mother": factories.pedigree_tree(taxon=native), "generation_other": "", "backcrosses": 1, "intercrosses": 0},
        {"mother": factories.pedigree_tree(taxon=native), "generation_other": "", "source_of_resistance": "Heron"},
        {"mother": b1, "generation_other": ""},
    )
    for fields in others[1:]:
        numbers = tree_numbers(factories.pedigree_tree(taxon=native, **fields))
        assert (numbers.assumed, numbers.not_known) == (0, HALF)
    foreign = factories.taxon(role="donor")
    assert tree_numbers(factories.pedigree_tree(taxon=foreign, mother=b1, generation_other="donor")).assumed == 0


def test_the_setting_is_named_wherever_it_is_used(native, counted):
    tree = wild(native)
    assert tree_share_words(tree) == f"1 on average, by its pedigree; {ASSUMED_WORDS}"
    assert expected_donor_share(tree) == (0, True)
    fields = {"method": "markers", "sampled_on": factories.day(2019), "standard_error": Decimal("0.01")}
    share = share_enter(actor=factories.person(), tree=tree, donor_share=Decimal("0.01"), **fields)
    manager = factories.person("manager")
    said = [
        expected_words(share_lines([share])[0]),
        record_page(TreeShareView, manager, tree).question,
        " ".join(line.text for line in record_page(TreeNumbersView, manager, tree).get_due()),
    ]
    assert all(ASSUMED_WORDS in words for words in said)


def test_grandparents_count_by_the_same_setting(native, counted):
    mother = wild(native)
    cross = factories.pedigree_tree(taxon=native, mother=mother, father=factories.pedigree_tree(taxon=native))
    numbers = tree_numbers(cross)
    assert (numbers.native, numbers.assumed) == (1, Fraction(1, 4))
