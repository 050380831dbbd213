"""Agreement of two records of the same trees, against published examples calculated again by R 4.2.2 (vcd 1.4.11, psych 2.2.9)."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.arrival.agreement import ALL_AGREE, FEW_KINDS, NO_PAIRS, NO_SPREAD, ONE_CLASS, ONE_PAIR
from plantings.calc.arrival.agreement_of_classes import LINEAR, SQUARED, UNWEIGHTED, class_agreement, kappa
from plantings.calc.arrival.agreement_of_readings import bias_and_spread, intraclass_correlations

# Westlund & Kurland 1953, in Landis & Koch 1977, Biometrics 33:159-174: New Orleans down, Winnipeg across, patients of Winnipeg.
PATIENTS = [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]]
# Agresti 1990, Categorical Data Analysis: husbands down, wives across.
COUPLES = [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]]
# Shrout & Fleiss 1979, Psychol. Bull. 86:420-428: six targets, four judges.
TARGETS = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]

# Bland & Altman 1986, Lancet i:307-310, table of 17 people: peak expiratory flow by two meters.
WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


@pytest.mark.parametrize(
    ("table", "weights", "estimate", "error"),
    [
        (PATIENTS, UNWEIGHTED, 0.207942, 0.0504554),
        (PATIENTS, LINEAR, 0.379731, 0.0516668),
        (COUPLES, UNWEIGHTED, 0.129330, 0.0685985),
        (COUPLES, LINEAR, 0.237381, 0.0783163),
        (COUPLES, SQUARED, 0.332046, 0.0972975),
    ],
)
def test_kappa_is_that_of_the_published_tables(table, weights, estimate, error):
    found = kappa(table, weights)
    assert found.estimate == pytest.approx(estimate, abs=5e-7)
    assert found.error == pytest.approx(error, abs=5e-8)


@pytest.mark.parametrize(("weights", "low", "high"), [(UNWEIGHTED, 0.109052, 0.306833), (LINEAR, 0.278465, 0.480996)])
def test_the_interval_of_kappa_is_that_of_the_published_table(weights, low, high):
    found = kappa(PATIENTS, weights)
    assert (found.low, found.high) == (pytest.approx(low, abs=6e-7), pytest.approx(high, abs=6e-7))
    assert (found.agreed, found.pairs) == (64, 149)


@pytest.mark.parametrize("weights", [UNWEIGHTED, LINEAR, SQUARED])
def test_kappa_is_that_of_statsmodels(weights):
    """statsmodels counts steps, not shares of the widest step: the weights are the same ones."""
    from statsmodels.stats.inter_rater import cohens_kappa

    wanted = cohens_kappa(COUPLES, wt={UNWEIGHTED: None, LINEAR: "linear", SQUARED: "quadratic"}[weights])
    found = kappa(COUPLES, weights)
    assert (found.estimate, found.error) == (pytest.approx(wanted.kappa, rel=1e-12), pytest.approx(wanted.std_kappa, rel=1e-9))


def test_where_everybody_is_alive_in_both_records_kappa_is_undefined():
    found = kappa([[30, 0], [0, 0]])
    assert found[:4] == (None,) * 4 and (found.agreed, found.pairs, found.reason) == (30, 30, ONE_CLASS)
    assert ONE_CLASS.startswith("no disagreement possible to tell")
    assert kappa([[0, 0], [0, 0]]).reason == NO_PAIRS and kappa([]).reason == NO_PAIRS


def test_two_constant_columns_that_differ_agree_nowhere():
    found = kappa([[0, 30], [0, 0]])
    assert (found.estimate, found.agreed) == (0, 0)


@pytest.mark.parametrize(
    ("table", "estimate", "reason"),
    [
        ([[7, 0], [0, 12]], 1, ALL_AGREE),
        ([[19, 1], [0, 0]], 0, FEW_KINDS),  # the first record has one class: p_o = p_e = 0.95
        ([[0, 10], [10, 0]], -1, FEW_KINDS),  # p_o 0, p_e 0.5
    ],
)
@pytest.mark.parametrize("weights", [UNWEIGHTED, LINEAR, SQUARED])
def test_an_interval_without_width_is_not_given(table, estimate, reason, weights):
    """Fleiss, Cohen & Everitt's variance is 0 there, worked by hand: 20 trees or 20,000 would read equally certain."""
    found = kappa(table, weights)
    assert found.estimate == pytest.approx(estimate, abs=1e-12)
    assert (found.error, found.low, found.high, found.reason) == (0, None, None, reason)


@pytest.mark.parametrize(("table", "weights"), [([[1, 2]], UNWEIGHTED), ([[1, -1], [0, 1]], UNWEIGHTED), ([[1, 1], [1, 1]], "cubic")])
def test_a_table_that_is_none_is_refused(table, weights):
    with pytest.raises(ValueError, match=r"rows as columns|below 0|does not name weights"):
        kappa(table, weights)


TABLES = st.integers(2, 5).flatmap(
    lambda size: st.lists(st.lists(st.integers(0, 40), min_size=size, max_size=size), min_size=size, max_size=size)
)


@given(TABLES, st.sampled_from([UNWEIGHTED, LINEAR, SQUARED]))
def test_kappa_does_not_depend_on_which_record_is_first(table, weights):
    found, turned = kappa(table, weights), kappa([list(column) for column in zip(*table, strict=True)], weights)
    assert (found.estimate is None) == (turned.estimate is None)
    if found.estimate is not None:
        assert found.estimate == pytest.approx(turned.estimate) and found.error == pytest.approx(turned.error, abs=1e-9)
        assert found.estimate <= 1 + 1e-12 and (found.low is None) == (turned.low is None)
        assert found.low is None or -1 <= found.low < found.high <= 1


@given(st.lists(st.sampled_from("ADN"), min_size=1, max_size=30))
def test_a_record_agrees_fully_with_itself(classes):
    found = class_agreement([(one, one) for one in classes], "ADN")
    assert found.agreed == found.pairs == len(classes)
    assert (found.reason == ONE_CLASS) if len(set(classes)) == 1 else found.estimate == pytest.approx(1)


def test_a_class_that_is_not_listed_is_refused_and_pairs_make_the_table():
    with pytest.raises(ValueError, match="X is not among the classes A, D"):
        class_agreement([("A", "X")], "AD")
    assert class_agreement([], "AD").reason == NO_PAIRS
    pairs = [(one, other) for one, row in enumerate(COUPLES) for other, number in enumerate(row) for _ in range(number)]
    assert class_agreement(pairs, range(4), SQUARED) == kappa(COUPLES, SQUARED)


def test_bias_and_spread_of_six_heights():
    """Worked by hand: differences -2 3 -3 0 -3 2, mean -0.5, sum of squares 35 - 6 x 0.25 = 33.5, divided by 5."""
    found = bias_and_spread([(112, 110), (98, 101), (130, 127), (75, 75), (141, 138), (88, 90)])
    assert found.bias == -0.5 and found.spread == pytest.approx(sqrt(33.5 / 5)) == pytest.approx(2.588436, abs=5e-7)
    assert (found.low, found.high, found.pairs) == (pytest.approx(-5.573334, abs=5e-7), pytest.approx(4.573334, abs=5e-7), 6)


def test_bias_and_spread_are_those_of_bland_and_altman():
    """Wright less mini peak flow meter, first readings in l/min; the paper prints -2.1 and 38.8 (from memory; its data give both)."""
    found = bias_and_spread(list(zip(MINI, WRIGHT, strict=True)))
    assert (round(found.bias, 1), round(found.spread, 1), found.pairs) == (-2.1, 38.8, 17)


def test_one_pair_has_a_bias_and_no_spread():
    assert bias_and_spread([(100, 103)]) == (3, None, None, None, 1, ONE_PAIR)
    assert bias_and_spread([]).reason == NO_PAIRS


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(0, 500)), min_size=2, max_size=20))
def test_turning_the_pairs_turns_the_bias(pairs):
    found, turned = bias_and_spread(pairs), bias_and_spread([(second, first) for first, second in pairs])
    assert found.bias == pytest.approx(-turned.bias, abs=1e-9) and found.spread == pytest.approx(turned.spread)
    assert found.low == pytest.approx(-turned.high, abs=1e-9)


def test_intraclass_correlations_are_those_of_shrout_and_fleiss():
    found = intraclass_correlations(TARGETS)
    assert [round(one.estimate, 6) for one in found] == [0.165742, 0.289764, 0.714841]
    assert (round(found.two_way.low, 6), round(found.two_way.high, 6)) == (0.018787, 0.761084)
    assert (round(found.fixed.low, 6), round(found.fixed.high, 6)) == (0.342465, 0.945858)
    assert found.one_way.low < found.one_way.estimate < found.one_way.high


def test_intraclass_correlations_that_cannot_be_estimated_say_why():
    assert intraclass_correlations([]).fixed.reason == NO_PAIRS
    assert intraclass_correlations([[1, 2]]).fixed.reason == ONE_PAIR
    assert intraclass_correlations([[7, 7], [7, 7]]).fixed.reason == NO_SPREAD
    assert intraclass_correlations([[7, 7], [9, 9]]).one_way == (1, 1, 1, "")
    with pytest.raises(ValueError, match="one reading of each observer"):
        intraclass_correlations([[1, 2], [1]])


READINGS = st.integers(2, 4).flatmap(
    lambda size: st.lists(st.lists(st.integers(0, 9), min_size=size, max_size=size), min_size=2, max_size=8)
)


@given(READINGS)
def test_correlations_of_any_readings_are_one_at_most(readings):
    for found in intraclass_correlations(readings):
        assert found.reason if found.estimate is None else found.estimate <= 1 + 1e-9


def test_observers_that_differ_by_a_constant_agree_once_that_is_taken_off():
    found = intraclass_correlations([[5, 7], [8, 10], [6, 8]])
    assert found.fixed.estimate == pytest.approx(1) and found.two_way.estimate < 1
    assert intraclass_correlations([[5, 7], [5, 7]]).fixed.reason == NO_SPREAD
