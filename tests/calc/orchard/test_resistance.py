"""Resistance of several unlinked loci. Source unless named: common practice of backcross breeding, no source; the shares are Mendel's."""

from fractions import Fraction
from itertools import product
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.orchard.resistance import cross_classes, expected_selected, generation_genotype, programme_steps, seeds_to_grow
from registry.calc.pedigree.generation import Generation, parse_generation

genotypes = st.integers(1, 4).flatmap(lambda k: st.tuples(*[st.lists(st.integers(0, 2), min_size=k, max_size=k)] * 2))


def counted(mother, father):
    """The same classes by writing out every pair of gametes: a locus with one allele gives it in one of two gametes."""
    found = {}
    choices = [[(m // 2, (m + 1) // 2), (f // 2, (f + 1) // 2)] for m, f in zip(mother, father, strict=True)]
    for gametes in product(*(product(*locus) for locus in choices)):
        alleles = tuple(sum(locus) for locus in gametes)
        found[alleles] = found.get(alleles, 0) + 1
    return {alleles: Fraction(number, 4 ** len(mother)) for alleles, number in found.items()}


@given(genotypes)
def test_the_classes_equal_the_gametes_written_out(parents):
    classes, written_out = cross_classes(*parents), counted(*parents)
    for number, share in enumerate(classes.alleles):
        assert share == sum(part for alleles, part in written_out.items() if sum(alleles) == number)
    assert sum(classes.alleles) == 1
    assert classes.carrying_all == sum(part for alleles, part in written_out.items() if min(alleles) >= 1)
    assert classes.full == classes.alleles[-1] == sum(part for alleles, part in written_out.items() if min(alleles) == 2)
    assert classes.mean_alleles == Fraction(sum(map(sum, parents)), 2)  # the mean of both parents


@given(genotypes)
def test_mother_and_father_may_be_swapped(parents):
    assert cross_classes(*parents) == cross_classes(*parents[::-1])


@pytest.mark.parametrize("k", [1, 2, 3, 5])
def test_a_backcross_keeps_one_in_two_to_the_k(k):
    classes = cross_classes((1,) * k, (0,) * k)
    assert (classes.carrying_all, classes.full) == (Fraction(1, 2**k), 0)
    assert classes.alleles[: k + 1] == tuple(Fraction(comb(k, number), 2**k) for number in range(k + 1))  # binomial
    assert set(classes.alleles[k + 1 :]) == {0}


def test_about_one_backcross_tree_in_eight_is_selected_at_three_loci():
    assert cross_classes((1, 1, 1), (0, 0, 0)).carrying_all == Fraction(1, 8)


@pytest.mark.parametrize("k", [1, 2, 3, 5])
def test_an_intercross_fixes_all_k_loci_in_one_of_four_to_the_k(k):
    classes = cross_classes((1,) * k, (1,) * k)
    assert (classes.full, classes.carrying_all) == (Fraction(1, 4**k), Fraction(3, 4) ** k)
    assert classes.intermediate == Fraction(3, 4) ** k - Fraction(1, 4**k)
    assert classes.alleles == tuple(Fraction(comb(2 * k, number), 4**k) for number in range(2 * k + 1))  # binomial


def test_the_first_hybrid_is_intermediate_throughout():
    classes = cross_classes(
        generation_genotype(Generation(None, None, "native"), 3), generation_genotype(Generation(None, None, "donor"), 3)
    )
    assert (classes.intermediate, classes.full) == (1, 0)


def test_full_resistance_needs_it_from_both_sides():
    for father in product((0, 1, 2), repeat=2):
        assert (cross_classes((2, 2), father).full > 0) == (min(father) > 0)
    assert cross_classes((2, 2), (2, 2)).full == 1


def test_full_resistance_first_appears_among_the_intercross():
    steps = dict(programme_steps(3, 3))
    assert list(steps) == ["F1", "B1", "B2", "B3", "B3F2", "B3F3"]
    assert [steps[code].full for code in steps] == [0, 0, 0, 0, Fraction(1, 64), 1]
    assert [steps[code].carrying_all for code in ("B1", "B2", "B3")] == [Fraction(1, 8)] * 3


@pytest.mark.parametrize(
    ("code", "alleles"), [("native", 0), ("donor", 2), ("F1", 1), ("B1", 1), ("B3", 1), ("F2", 2), ("B3F2", 2), ("B3F3", 2)]
)
def test_alleles_of_a_selected_tree_by_its_generation(code, alleles):
    assert generation_genotype(parse_generation(code), 2) == (alleles, alleles)


# Sedcole 1977, Crop Sci. 17:667-668, exact: P = .95, r = 1 and q = 1/4, 1/8, 1/16, 1/64
@pytest.mark.parametrize(("k", "intercross", "expected"), [(2, False, 11), (3, False, 23), (2, True, 47), (3, True, 191)])
def test_seeds_to_grow_of_a_cross(k, intercross, expected):
    classes = cross_classes((1,) * k, (1 if intercross else 0,) * k)
    assert seeds_to_grow(classes.full if intercross else classes.carrying_all) == expected


def test_seeds_to_grow_allow_for_losses_and_further_selection():
    # by hand: 1/2 x 0.8 x 0.625 x 1/2 = 1/8, whose number for r = 5 Sedcole 1977 gives
    assert seeds_to_grow(Fraction(1, 2), 5, 0.95, germination=0.8, surviving=0.625, kept=0.5) == 71


def test_the_expected_number_of_trees_selected():
    # by hand
    assert expected_selected(24, Fraction(1, 8)) == 3
    assert expected_selected(100, 0.1, germination=0.65, surviving=0.7) == Fraction("4.55")
    assert expected_selected(0, 0.5) == 0


@pytest.mark.parametrize(
    ("work", "message"),
    [
        (lambda: cross_classes((1, 1), (1,)), "2 loci and the father 1"),
        (lambda: cross_classes((1, 3), (1, 1)), "mother has 3 alleles at locus 2"),
        (lambda: cross_classes((1, 1), (1, -1)), "father has -1 alleles at locus 2"),
        (lambda: cross_classes((), ()), "number of loci is 0"),
        (lambda: generation_genotype(Generation(3, 0), 21), "number of loci is 21"),
        (lambda: generation_genotype(Generation(None, None, "wild"), 2), "“wild” does not say"),
        (lambda: seeds_to_grow(Fraction(0)), "No tree of this cross"),
        (lambda: seeds_to_grow(Fraction(1, 8), kept=0), "share kept"),
        (lambda: expected_selected(-1, 0.5), "number of seeds"),
        (lambda: expected_selected(1, 1.5), "share kept"),
        (lambda: expected_selected(1, 0.5, surviving=-0.1), "share surviving"),
        (lambda: programme_steps(3, 0), "number of backcrosses"),
    ],
)
def test_values_outside_their_range_are_refused(work, message):
    with pytest.raises(ValueError, match=message):
        work()
