"""Expected fathers of open-pollinated seed. Worked by hand unless a source is named; that a pool is the father is common practice, no source."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.orchard.crops import crop_diversity, crop_father, crop_genes
from registry.calc.orchard.pollen_pool import ExpectedFather, PollenPool, expected_father, progeny_shares
from registry.calc.pedigree.expected_shares import UNKNOWN
from registry.calc.pedigree.inbreeding import coancestry_matrix
from registry.calc.pedigree.pedigree import read_pedigree
from registry.calc.pedigree.relationship import gamete_shares, group_coancestry, status_number

F = Fraction


def pool(*trees, **shares):
    return PollenPool(tuple((tree, None) for tree in trees), **shares)


def test_without_weights_the_members_are_equally_likely_fathers():
    assert expected_father(pool("a", "b", "c", "d"), "x") == ExpectedFather(dict.fromkeys("abcd", F(1, 4)), {})


def test_weights_are_taken_in_any_unit():
    members = (("a", F(30)), ("b", F(50)), ("c", F(20)))
    assert expected_father(PollenPool(members), "x").trees == {"a": F(3, 10), "b": F(1, 2), "c": F(1, 5)}


def test_members_share_what_outside_and_selfing_leave():
    # 1 - 0.13 - 0.12 = 3/4 for three others
    found = expected_father(pool("a", "b", "c", "m", outside_share=F("0.13"), outside_label="native", selfing_share=F("0.12")), "m")
    assert found.outside == {"native": F("0.13")}
    assert found.trees == {"m": F("0.12"), "a": F(1, 4), "b": F(1, 4), "c": F(1, 4)}


def test_a_mother_in_the_pool_is_a_father_only_by_selfing():
    assert "m" not in expected_father(pool("a", "m"), "m").trees
    inside = expected_father(pool("a", "m", selfing_share=F(1, 10)), "m")
    outside = expected_father(pool("a", selfing_share=F(1, 10)), "m")
    assert inside == outside == ExpectedFather({"m": F(1, 10), "a": F(9, 10)}, {})
    assert expected_father(pool("a", "m"), "x").trees == {"a": F(1, 2), "m": F(1, 2)}  # to others she is a father


def test_with_no_other_tree_the_father_is_unknown():
    assert expected_father(pool("m", selfing_share=F(1, 4)), "m") == ExpectedFather({"m": F(1, 4)}, {UNKNOWN: F(3, 4)})
    assert expected_father(pool(outside_share=F(1, 3)), "m").outside == {UNKNOWN: 1}
    assert expected_father(pool("a", outside_share=F(1)), "m") == ExpectedFather({}, {UNKNOWN: 1})


@pytest.mark.parametrize(
    ("members", "shares", "message"),
    [
        ((("a", F(2)), ("b", None), ("c", None)), {}, "2 of 3 members have no weight: “b”, “c”. Give every member a weight, or none"),
        ((("a", None), ("a", None)), {}, "“a” is in the pool more than once"),
        ((("a", F(0)),), {}, "weight of “a” is not above 0"),
        ((), {"outside_share": F(3, 2)}, "outside share is 3/2"),
        ((), {"selfing_share": F(-1, 2)}, "selfing share is -1/2"),
        ((), {"outside_share": F(2, 3), "selfing_share": F(1, 2)}, "add up to more than 1"),
        (tuple((name, None if name == "h" else F(1)) for name in "abcdefgh"), {}, "1 of 8 members have no weight: “h”"),
        (tuple((name, F(-1)) for name in "abcdefgh"), {}, "“e” and 3 more is not above 0"),
    ],
)
def test_a_pool_that_makes_no_sense_is_refused(members, shares, message):
    with pytest.raises(ValueError, match=message):
        PollenPool(members, **shares)


shares_of_one = st.fractions(0, 1, max_denominator=50)


@given(st.lists(st.integers(1, 99), max_size=6), shares_of_one, shares_of_one, st.integers(0, 7))
def test_the_expected_father_sums_to_one(weights, outside, selfing, mother):
    if outside + selfing > 1:
        outside, selfing = outside / 2, selfing / 2
    father = expected_father(
        PollenPool(tuple((str(place), F(w)) for place, w in enumerate(weights)), outside, "native", selfing), str(mother)
    )
    assert sum(father.trees.values()) + sum(father.outside.values()) == 1
    assert father.trees.get(str(mother), 0) == selfing
    assert father.outside.get("native", 0) == outside
    assert min([*father.trees.values(), *father.outside.values()]) > 0


def test_seed_shares_are_the_mean_of_mother_and_expected_father():
    # mother 15/16; fathers 15/16 (3/4), native outside (1/4): (15/16 + 45/64 + 16/64)/2 = 121/128
    backcross = {"native": F(15, 16), "donor": F(1, 16)}
    father = ExpectedFather({"a": F(3, 4)}, {"native": F(1, 4)})
    assert progeny_shares(backcross, father, {"a": backcross}) == {"native": F(121, 128), "donor": F(7, 128)}
    with pytest.raises(ValueError, match="shares of “a” are not given"):
        progeny_shares(backcross, father, {})


def test_the_father_of_a_crop_weighs_the_mothers_by_their_seed():
    # m bears 3 of 4 seeds and is fathered by a, b; a bears 1 and is fathered by m, b
    father = crop_father({"m": 300, "a": 100}, pool("m", "a", "b"))
    assert father == ExpectedFather({"a": F(3, 8), "b": F(1, 2), "m": F(1, 8)}, {})
    with pytest.raises(ValueError, match="weights of the mothers"):
        crop_father({"m": 0}, pool("a"))


def test_diversity_of_a_crop_of_unrelated_trees():
    # Lindgren, Gea & Jefferson 1997: 1/sum p^2 of unrelated trees. Genes: m 1/2, a 1/4, b 1/4: Ns = 1/(1/4 + 1/16 + 1/16)
    found = crop_diversity({"m": 5}, crop_father({"m": 5}, pool("a", "b")), ["m", "a", "b"], np.eye(3) / 2)
    assert found.status_number == pytest.approx(1 / 0.375)
    assert found.effective_fathers == 2


def test_outside_pollen_adds_no_coancestry():
    # genes: m 1/2, outside 1/2: theta = 1/4 x 1/2
    found = crop_diversity({"m": 1}, ExpectedFather({}, {"native": F(1)}), ["m"], [[0.5]])
    assert (found.group_coancestry, found.status_number, found.effective_fathers) == (0.125, 4, None)


def test_diversity_of_a_crop_equals_that_of_its_gamete_pool():
    # Lindgren, Gea & Jefferson 1997, with the gamete pool as the mean of female and male contributions
    rows = [("c1", "A", "B"), ("c2", "A", "B"), ("c3", "A", "C"), ("c4", "", ""), ("c5", "", "")]
    names = ["c1", "c2", "c3", "c4", "c5"]
    coancestry = coancestry_matrix(read_pedigree(rows), names)
    female, male = [0.30, 0.25, 0.20, 0.15, 0.10], [0.1, 0.1, 0.2, 0.2, 0.4]
    father = ExpectedFather({name: F(str(share)) for name, share in zip(names, male, strict=True)}, {})
    found = crop_diversity({name: F(str(share)) for name, share in zip(names, female, strict=True)}, father, names, coancestry)
    genes = gamete_shares(female, male)
    assert found.group_coancestry == pytest.approx(group_coancestry(coancestry, genes))
    assert found.status_number == pytest.approx(status_number(coancestry, genes))


def test_trees_without_coancestry_are_named():
    with pytest.raises(ValueError, match="“b” is not among the trees"):
        crop_diversity({"a": 1}, ExpectedFather({"b": F(1)}, {}), ["a"], [[0.5]])
    with pytest.raises(ValueError, match="shape \\(1, 1\\) for 2 trees"):
        crop_diversity({"a": 1}, ExpectedFather({"b": F(1)}, {}), ["a", "b"], [[0.5]])


def test_half_the_genes_of_a_crop_are_the_mothers():
    genes = crop_genes({"a": 1, "b": 3}, ExpectedFather({"a": F(1, 5), "c": F(2, 5)}, {"native": F(2, 5)}))
    assert genes == pytest.approx({"a": 1 / 8 + 1 / 10, "b": 3 / 8, "c": 1 / 5})
    assert sum(genes.values()) == pytest.approx(1 - 1 / 5)  # less half the pollen from outside
