"""Lineages beside the checks: the order, the reasons where there is none, and the sentences made from the same numbers."""

import numpy as np
import pytest

from plantings.calc.lineages import compare, model_answer
from plantings.calc.lineages.compare import BETA, FEW_TREES, MODEL, NO_NATIVE, OBSERVED, ONE_SITE, compare_lineages
from plantings.calc.lineages.lineage_model import LINEAGE
from plantings.calc.lineages.roguing import progeny_proposal
from plantings.calc.lineages.words import (
    difference_range,
    disagreement_sentence,
    few_trees_words,
    lineage_sentence,
    method_sentences,
    odds_range,
    opening_sentence,
    pressure_sentence,
    signed,
)  # fmt: skip
from plantings.calc.results import Difference
from plantings.calc.survival.odds import odds_over_sites
from plantings.calc.survival.over_sites import difference_over_sites
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import DONOR, NATIVE
from plantings.calc.survival.tallies import Tally


def tally(lineage, site, alive, n, standard="", cankered=0, looked=0):
    counts = dict.fromkeys(Counts._fields, 0) | {"planted": n, "alive": alive, "dead": n - alive, "cankered": cankered}
    counts |= {"canker_assessed": looked, "alive_then": alive, "assessed_then": n}
    role = "check" if standard else "test"
    return Tally((lineage,), role, site, f"P-{site}", lineage, standard, False, True, list(Counts(**counts)))


def trial(effects, sites=6, n=30, seed=3, native=-0.8):
    """Own invented counts: lineages with known effects on sites of known difficulty."""
    random, found = np.random.default_rng(seed), []
    for number in range(sites):
        ease = np.linspace(-0.8, 0.8, sites)[number]
        for label, effect, standard in [*((label, effect, "") for label, effect in effects.items()), ("wild", native, NATIVE)]:
            found.append(tally(label, f"S{number}", int(random.binomial(n, 1 / (1 + np.exp(-(ease + effect))))), n, standard))
    return found


SPREAD = {"A": 1.2, "B": 0.6, "C": 0.2, "D": -0.2, "E": -0.7, "F": -1.3}


def test_the_model_orders_lineages_by_their_true_effects():
    found = compare_lineages(trial(SPREAD))
    assert (found.method, [one.label for one in found.ranked], found.places) == (MODEL, list("ABCDEF"), 2)
    best = found.ranked[0].shrunk
    assert best.best > 0.95 and best.worst < 0.01 and best.reliability > 0.7
    assert best.difference.low > 0 and best.low < best.share < best.high


def test_a_small_family_is_drawn_further_towards_the_mean():
    shown = {one.label: one for one in compare_lineages([*trial(SPREAD), tally("small", "S2", 3, 3), tally("small", "S3", 2, 2)]).ranked}
    drawn = {label: one.row.difference.estimate - one.shrunk.difference.estimate for label, one in shown.items()}
    assert shown["small"].row.share == 1 and drawn["small"] > 0.15 > 2 * abs(drawn["A"])
    assert shown["small"].shrunk.reliability < 0.5 < shown["A"].shrunk.reliability


def test_the_observed_difference_is_that_of_the_survival_table():
    one = compare_lineages(trial(SPREAD)).ranked[0]
    tests, checks = [[one for one in trial(SPREAD) if one.keys == (label,)] for label in ("A", "wild")]
    expected = difference_over_sites([t.counts[1] for t in tests], [30] * 6, [t.counts[1] for t in checks], [30] * 6)
    assert one.row.difference == expected


@pytest.mark.parametrize(
    ("extra", "reason"),
    [
        ([tally("X", "S1", 2, 3), tally("X", "S2", 1, 1)], FEW_TREES),
        ([tally("X", "elsewhere", 9, 12)], NO_NATIVE),
        ([tally("X", "S1", 9, 12), tally("X", "elsewhere", 9, 12)], ONE_SITE),
    ],
)
def test_what_cannot_be_told_is_listed_with_its_reason(extra, reason):
    found = compare_lineages([*trial(SPREAD), *extra])
    assert [(one.label, one.reason) for one in found.unranked] == [("X", reason)] and len(found.ranked) == 6
    assert reason in compare.NEEDED


def test_without_any_native_check_lineages_are_compared_with_each_other():
    """The order is that of the true effects; a check of another kind gives no difference from the native one."""
    alone = [one for one in trial(SPREAD) if one.standard != NATIVE]
    found = compare_lineages([*alone, tally("hybrid", "S1", 9, 12, "F1"), tally("X", "S1", 2, 3)])
    assert (found.method, [one.label for one in found.ranked], found.has_native) == (MODEL, list("ABCDEF"), False)
    assert [(one.label, one.reason) for one in found.unranked] == [("X", FEW_TREES)]
    assert all(one.row.difference is None and one.shrunk.difference is None for one in found.ranked)
    best = found.ranked[0]
    assert best.shrunk.low < best.shrunk.share < best.row.share and best.shrunk.best > 0.95  # drawn towards the mean of all
    assert opening_sentence(found).startswith("No native check is assessed here, so 6 lineages are compared with each other alone. A is")
    assert lineage_sentence(best) == f"A: {best.row.share:.2f} alive ({best.row.low:.2f} to {best.row.high:.2f}) over 6 sites."
    assert "no native check on its sites" in progeny_proposal(best, found)
    two = compare_lineages([one for one in alone if one.keys[0] in "AF"])
    assert two.method == OBSERVED and [one.label for one in two.ranked] == ["A", "F"]
    assert "The order is by the observed survival" in method_sentences(two)[0]


def test_lineages_that_do_not_differ_get_no_order():
    found = compare_lineages(trial(dict.fromkeys("FEDCBA", 0.3), n=40, seed=1))
    assert LINEAGE in found.singular and [one.label for one in found.ranked] == list("ABCDEF")
    assert {one.shrunk.best for one in found.ranked} == {None} and found.places == 0
    assert opening_sentence(found).endswith("No order among them can be told.")
    assert any("No order can be told" in sentence for sentence in method_sentences(found))
    # the common value is still uncertain, by the fixed effects
    assert found.ranked[0].shrunk.difference.low < found.ranked[0].shrunk.difference.estimate


def test_a_thin_design_falls_back_and_says_why():
    few = compare_lineages(trial({label: SPREAD[label] for label in "ACF"}))
    assert (
        few.method == BETA and "fewer than 5 lineages" in few.why_not[0] and few.ranked[0].label == "A" and few.ranked[0].shrunk.best > 0.9
    )
    assert "sites are not considered" in method_sentences(few)[0]
    two = compare_lineages(trial({label: SPREAD[label] for label in "AF"}))
    assert two.method == OBSERVED and two.ranked[0].shrunk is None and "by chance" in method_sentences(two)[0]


def test_a_model_that_does_not_converge_is_not_used(monkeypatch):
    monkeypatch.setattr(model_answer, "lineage_fit", lambda cells, say: None)
    found = compare_lineages(trial(SPREAD))
    assert found.method == BETA and found.why_not == ("the model did not converge",)


def test_odds_within_sites_and_their_agreement_are_beside_the_difference():
    trees = [tally("A", f"S{place}", alive, 40) for place, alive in enumerate((38, 6, 37, 5))]
    trees += [tally("B", f"S{place}", 30, 40) for place in range(4)] + [tally("wild", f"S{place}", 20, 40, NATIVE) for place in range(4)]
    found = compare_lineages(trees)
    shown = {one.label: one for one in found.ranked}
    assert shown["B"].odds == odds_over_sites([30] * 4, [40] * 4, [20] * 4, [40] * 4) and odds_range(shown["B"].odds).startswith("3.00 (")
    assert shown["B"].odds_holm == pytest.approx(2 * shown["B"].odds.p) and shown["B"].alike_holm == 1
    assert disagreement_sentence(found).startswith("The sites do not agree about A (Breslow–Day")
    assert disagreement_sentence(compare_lineages(trees[4:])) == ""


def test_a_handful_of_trees_has_the_exact_interval():
    """R binom.test(2, 3): 0.0943 to 0.9916 (from memory)."""
    assert few_trees_words(2, 3) == "2 of 3 alive, exact 95 % interval 0.09 to 0.99" and few_trees_words(0, 0) == ""


def test_a_donor_check_that_all_lives_is_left_out_of_the_model_and_named():
    found = compare_lineages([*trial(SPREAD), *(tally("donor", f"S{site}", 10, 10, DONOR) for site in range(6))])
    assert found.method == MODEL and found.left_out == (DONOR,) and found.donor.estimate > 0.4
    assert any("leaves them out: donor checks" in sentence for sentence in method_sentences(found))


def test_sentences_are_made_from_the_numbers():
    found = compare_lineages(trial(SPREAD))
    first, last = found.ranked[0], found.ranked[-1]
    low, high = first.row.difference.low, first.row.difference.high
    assert (
        lineage_sentence(first)
        == f"A lives {first.row.difference.estimate:.2f} ({low:.2f} to {high:.2f}) above the native check over 6 sites."
    )
    ends = [f"{'' if end >= 0 else '−'}{abs(end):.2f}" for end in (-last.row.difference.high, -last.row.difference.low)]
    assert lineage_sentence(last).endswith(f"({ends[0]} to {ends[1]}) below the native check over 6 sites.")
    assert opening_sentence(found).endswith(f"A is in the best quarter with a chance of {first.shrunk.best:.2f}.")
    assert (signed(-0.05), signed(0.001), difference_range(Difference(0.1, None, None, "x"))) == ("−0.05", "0.00", "+0.10")


def test_that_no_lineage_is_above_is_said_as_such():
    alike = compare_lineages(
        [tally(label, site, 5, 9, standard) for site in ("S1", "S2") for label, standard in (("A", ""), ("wild", NATIVE))]
    )
    assert opening_sentence(alike).startswith("Of 1 lineage none has a 95 % interval wholly above the native check.")


def test_disease_pressure_is_said_in_words():
    assert "not known" in pressure_sentence(compare_lineages([tally("A", "S1", 5, 9)]))
    assert "Nobody looked" in pressure_sentence(compare_lineages([tally("wild", "S1", 5, 9, NATIVE)]))
    assert "No disease pressure" in pressure_sentence(compare_lineages([tally("wild", "S1", 5, 9, NATIVE, 0, 4)]))
    sick = [tally("wild", "S1", 5, 9, NATIVE, 3, 4), tally("wild", "S2", 5, 9, NATIVE, 0, 4)]
    found = compare_lineages(sick)
    low, high = (f"{100 * end:.0f}" for end in found.pressure.interval[:2])  # that of shares over sites, which has its own tests
    assert pressure_sentence(found) == (
        f"Disease pressure: 38 % (95 % interval {low} to {high} %) of the native checks that were looked at had a canker (3 of 8 trees), on "
        "1 of 2 sites."
    )


def changed(tallies, place, **values):
    """The tallies with one of them changed: `alive` or `cankered` in its counts, or another of its fields."""
    one, counts = tallies[place], Counts(*tallies[place].counts)
    if "alive" in values:
        alive = values.pop("alive")
        counts = counts._replace(alive=alive, dead=counts.planted - alive, alive_then=alive)
    if "cankered" in values:
        counts = counts._replace(cankered=values.pop("cankered"), canker_assessed=counts.planted)
    return [*tallies[:place], one._replace(counts=list(counts), **values), *tallies[place + 1 :]]


@pytest.mark.parametrize("of_check", [False, True])
@pytest.mark.parametrize(
    "values", [{"alive": 1}, {"cankered": 5}, {"planting": "P-other"}, {"complete": False}, {"site": "S9"}, {"lot": "other"}]
)
def test_a_row_is_remembered_only_while_nothing_it_rests_on_changed(of_check, values):
    """Without what was remembered the same tallies give the same comparison. The lot of a lineage is in no figure of it."""
    tallies = trial(SPREAD, sites=3)
    place = next(place for place, one in enumerate(tallies) if (one.role == "check") == of_check)
    before = compare_lineages(tallies)
    found = compare_lineages(changed(tallies, place, **dict(values)))
    compare._ROWS.clear()
    assert found == compare_lineages(changed(tallies, place, **dict(values)))
    assert (found != before) == (of_check or "lot" not in values)
