"""Expected shares of founders and species, exact. Source unless named: Allard 1960, Principles of Plant Breeding, backcross chapter."""

from fractions import Fraction

import pytest
from hypothesis import given

from registry.calc.pedigree.expected_shares import UNKNOWN, depth_of_parts, founder_shares, mean_shares, shares_of_parts, species_shares
from registry.calc.pedigree.pedigree import read_pedigree
from tests.calc.pedigree.test_pedigree import pedigrees

# each backcross to another native tree
BACKCROSSES = [("B0", "N0", "J"), *((f"B{t}", f"N{t}", f"B{t - 1}") for t in range(1, 7))]
CROSSES = [
    *BACKCROSSES,
    ("other B3", "M3", "B2"),
    ("B3F2", "B3", "other B3"),
    ("self", "B3", "B3"),
    ("B1xB3", "B1", "B3"),
    ("F1xB2", "B0", "B2"),
]
SPECIES = {"J": "donor"} | {f"N{t}": "native" for t in range(7)} | {"M3": "native"}


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("B0", "1/2"), ("B1", "3/4"), ("B2", "7/8"), ("B3", "15/16"), ("B4", "31/32"), ("B5", "63/64"), ("B6", "127/128"),
        ("B3F2", "15/16"), ("self", "15/16"), ("B1xB3", "27/32"), ("F1xB2", "11/16"), ("N1", "1"),
    ],
)  # fmt: skip
def test_native_share_through_any_crosses(name, expected):
    shares = species_shares(founder_shares(read_pedigree(CROSSES), name), SPECIES)
    assert shares["native"] == Fraction(expected)
    assert sum(shares.values()) == 1


def test_shares_of_single_founders():
    assert founder_shares(read_pedigree(BACKCROSSES), "B2") == {
        "N0": Fraction(1, 8), "J": Fraction(1, 8), "N1": Fraction(1, 4), "N2": Fraction(1, 2),
    }  # fmt: skip


def test_the_half_of_an_unknown_parent_is_unknown_without_a_rule():
    # the rule in the docstring
    shares = founder_shares(read_pedigree([("F1", "N", "J"), ("open", "F1", "unk"), ("open 2", "open", "0")]), "open 2")
    assert shares == {"N": Fraction(1, 8), "J": Fraction(1, 8), UNKNOWN: Fraction(3, 4)}
    assert species_shares(shares, {"J": "donor", "N": "native"}, unknown_counts_as="native") == {
        "native": Fraction(7, 8),
        "donor": Fraction(1, 8),
    }
    assert species_shares(shares, {"J": "donor"}) == {UNKNOWN: Fraction(7, 8), "donor": Fraction(1, 8)}


@given(pedigrees())
def test_shares_sum_to_one_and_a_child_has_the_mean_of_its_parents(rows):
    if not rows:
        return
    pedigree = read_pedigree(rows)
    found = [founder_shares(pedigree, name) for name in pedigree.names]
    for place, shares in enumerate(found):
        assert sum(shares.values()) == 1
        both = [pedigree.mothers[place], pedigree.fathers[place]]
        if max(both) >= 0:
            assert shares == mean_shares([(found[parent] if parent >= 0 else {UNKNOWN: Fraction(1)}, 1) for parent in both])


def test_the_mean_of_a_lot_takes_its_counts_as_weights():
    # by hand: (3 x 15/16 + 1 x 3/4)/4 = 57/64
    lot = mean_shares(
        [({"native": Fraction(15, 16), "donor": Fraction(1, 16)}, 300), ({"native": Fraction(3, 4), "donor": Fraction(1, 4)}, 100)]
    )
    assert lot == {"native": Fraction(57, 64), "donor": Fraction(7, 64)}


@pytest.mark.parametrize("parts", [[], [({"a": Fraction(1)}, 0)], [({"a": Fraction(1)}, 2), ({"b": Fraction(1)}, -1)]], ids=str)
def test_weights_that_are_none_are_refused(parts):
    with pytest.raises(ValueError, match="weights"):
        mean_shares(parts)


@given(pedigrees())
def test_shares_of_two_parents_are_the_founder_shares(rows):
    if not rows:
        return
    pedigree = read_pedigree(rows)
    names = [*pedigree.names, UNKNOWN]  # position -1
    half = Fraction(1, 2)
    parts = {
        name: [(names[pedigree.mothers[place]], half), (names[pedigree.fathers[place]], half)]
        for place, name in enumerate(pedigree.names)
        if not pedigree.is_founder(place)
    }
    for name in pedigree.names:
        assert shares_of_parts(parts, name) == founder_shares(pedigree, name)
        assert depth_of_parts(parts, name) == pedigree.depths[pedigree.position(name)]


def test_a_bulk_of_lots_of_a_pool_is_weighed_by_its_counts():
    # by hand: lot 1 = (m + (a + b)/2)/2, lot 2 = selfed b; bulk 3:1
    half, third = Fraction(1, 2), Fraction(1, 4)
    parts = {
        "1": [("m", half), ("a", third), ("b", third)],
        "2": [("b", half), ("b", half)],
        "bulk": [("1", Fraction(3, 4)), ("2", Fraction(1, 4))],
    }
    assert shares_of_parts(parts, "bulk") == {"m": Fraction(3, 8), "a": Fraction(3, 16), "b": Fraction(7, 16)}
    assert shares_of_parts({}, "alone") == {"alone": 1}


def test_parts_that_run_in_a_circle_are_named():
    with pytest.raises(ValueError, match="in a loop"):
        shares_of_parts({"a": [("b", 1)], "b": [("a", 1)]}, "a")


def test_parts_of_many_generations_do_not_exhaust_the_stack():
    parts = {number: [(number + 1, Fraction(1, 2)), ("n", Fraction(1, 2))] for number in range(5_000)}
    assert shares_of_parts(parts, 0)["n"] == 1 - Fraction(1, 2**5_000)
