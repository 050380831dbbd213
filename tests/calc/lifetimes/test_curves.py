"""Life tables, log-rank tests and adjusted p-values against R, and the step from tallies to them."""

import numpy as np
import pytest

from plantings.calc.lifetimes.curves import band_over_sites, life_table, normal_quantile
from plantings.calc.lifetimes.lineage_lives import NO_NATIVE, lineage_lives
from plantings.calc.lifetimes.multiplicity import benjamini_hochberg, holm
from plantings.calc.lifetimes.rank_tests import log_rank, log_rank_part
from plantings.calc.lifetimes.words import hazard_range, life_sentence, lives_sentence
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import NATIVE
from plantings.calc.survival.tallies import Tally
from tests.calc.lifetimes.reference_data import lung

# (time, 1 died or 0 censored). Miller 1997, as `aml` of R survival; Freireich et al. 1963, as `gehan` of R MASS, pair by pair.
MAINTAINED = [(9, 1), (13, 1), (13, 0), (18, 1), (23, 1), (28, 0), (31, 1), (34, 1), (45, 0), (48, 1), (161, 0)]
NOT_MAINTAINED = [(5, 1), (5, 1), (8, 1), (8, 1), (12, 1), (16, 0), (23, 1), (27, 1), (30, 1), (33, 1), (43, 1), (45, 1)]
CONTROL = [1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8]
TREATED = [
    (10, 1),
    (7, 1),
    (32, 0),
    (23, 1),
    (22, 1),
    (6, 1),
    (16, 1),
    (34, 0),
    (32, 0),
    (25, 0),
    (11, 0),
    (20, 0),
    (19, 0),
    (6, 1),
    (17, 0),
]
TREATED += [(35, 0), (6, 1), (13, 1), (9, 0), (6, 0), (10, 0)]
# Klein & Moeschberger 2003, as `larynx` of R KMsurv: stages 1 to 4.
LARYNX = [
    "0.6 1.3 2.4 2.5+ 3.2 3.2+ 3.3 3.3+ 3.5 3.5 4.0 4.0 4.3 4.5+ 4.5+ 5.3 5.5+ 5.9+ 5.9+ 6.0 6.1+ 6.2+ 6.4 6.5 6.5+ 6.7+ 7.0+ 7.4 7.4+ 8.1+ "
    "8.1+ 9.6+ 10.7+",
    "0.2 1.8 2.0 2.2+ 2.6+ 3.3+ 3.6 3.6+ 4.0 4.3+ 4.3+ 5.0+ 6.2 7.0 7.5+ 7.6+ 9.3+",
    "0.3 0.3 0.5 0.7 0.8 1.0 1.3 1.6 1.8 1.9 1.9 3.2 3.5 3.7+ 4.5+ 4.8+ 4.8+ 5.0 5.0+ 5.1+ 6.3 6.4 6.5+ 7.8 8.0+ 9.3+ 10.1+",
    "0.1 0.3 0.4 0.8 0.8 1.0 1.5 2.0 2.3 2.9+ 3.6 3.8 4.3+",
]


def counts(*groups):
    """(times of a death, deaths groups × times, at risk groups × times)."""
    times = sorted({time for group in groups for time, died in group if died})
    deaths = np.array([[sum(died and time == when for time, died in group) for when in times] for group in groups])
    return times, deaths, np.array([[sum(time >= when for time, _ in group) for when in times] for group in groups])


def table(group):
    times, deaths, at_risk = counts(group)
    return dict(zip(times, life_table(deaths[0].tolist(), at_risk[0].tolist()), strict=True))


def test_the_curve_errors_and_bands_are_those_of_r_survival():
    """R 4.2.2, survival 3.5-3, survfit with conf.type log-log."""
    steps = table(MAINTAINED)
    expected = [0.909091, 0.818182, 0.715909, 0.613636, 0.490909, 0.368182, 0.184091]
    errors = [0.0866784, 0.1162913, 0.1396650, 0.1526323, 0.1641933, 0.1626689, 0.1534928]
    assert list(steps) == [9, 13, 18, 23, 31, 34, 48]
    assert [step.share for step in steps.values()] == pytest.approx(expected, abs=5e-7)
    assert [step.error for step in steps.values()] == pytest.approx(errors, abs=5e-7)
    assert (steps[23].low, steps[23].high) == (pytest.approx(0.265752, abs=5e-7), pytest.approx(0.835299, abs=5e-7))
    other = [0.833333, 0.666667, 0.583333, 0.486111, 0.388889, 0.291667, 0.194444, 0.097222, 0]
    assert [step.share for step in table(NOT_MAINTAINED).values()] == pytest.approx(other, abs=5e-7)
    treated = table(TREATED)
    assert [step.share for step in treated.values()] == pytest.approx(
        [0.857143, 0.806723, 0.752941, 0.690196, 0.627451, 0.537815, 0.448179], abs=5e-7
    )
    assert [step.error for step in treated.values()] == pytest.approx(
        [0.0763604, 0.0869353, 0.0963497, 0.1068147, 0.1140539, 0.1282338, 0.1345915], abs=5e-7
    )  # fmt: skip
    ends = {10: (0.503200, 0.889362), 23: (0.188052, 0.680143)}
    assert {time: (treated[time].low, treated[time].high) for time in ends} == {
        time: pytest.approx(pair, abs=5e-7) for time, pair in ends.items()
    }


def test_log_rank_tests_are_those_of_r_survival():
    """R 4.2.2, survival 3.5-3, survdiff."""
    test = log_rank([counts(MAINTAINED, NOT_MAINTAINED)[1:]])
    assert test.expected == pytest.approx([10.689336, 7.310664], abs=5e-7)
    assert (test.chi_square, test.p) == (pytest.approx(3.396389, abs=5e-7), pytest.approx(0.0653393, abs=5e-8))
    control = [(time, 1) for time in CONTROL]
    test = log_rank([counts(TREATED, control)[1:]])
    assert (test.chi_square, test.p) == (pytest.approx(16.792941, abs=5e-7), pytest.approx(4.16881e-5, rel=1e-5))
    assert test.expected == pytest.approx([19.250501, 10.749499], abs=5e-7)
    pairs = [counts([one], [other])[1:] for one, other in zip(TREATED, control, strict=True)]
    assert log_rank(pairs).chi_square == pytest.approx(225 / 21)
    assert sum(log_rank_part(*pair).variance[0, 0] for pair in pairs) == pytest.approx(5.25)
    for groups, variance in (((MAINTAINED, NOT_MAINTAINED), 4.007551), ((TREATED, control), 6.256961)):
        assert log_rank_part(*counts(*groups)[1:]).variance[0, 0] == pytest.approx(variance, abs=5e-7)
    stages = [[(float(word.strip("+")), int("+" not in word)) for word in stage.split()] for stage in LARYNX]
    test = log_rank([counts(*stages)[1:]])
    assert (test.chi_square, test.df, test.p) == (pytest.approx(22.762757, abs=5e-7), 3, pytest.approx(4.5252e-5, rel=2e-5))
    assert test.expected == pytest.approx([22.566040, 10.011697, 14.084548, 3.337715], abs=5e-7)
    assert log_rank([(np.zeros((2, 1)), np.ones((2, 1)))]).p is None


def test_adjusted_p_values_are_those_of_the_paper():
    """Benjamini & Hochberg 1995, section 3.3, and R p.adjust."""
    p_values = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]
    bh = [
        0.0015,
        0.0030,
        0.0095,
        0.035625,
        0.0603,
        0.0638571,
        0.0638571,
        0.0645,
        0.0765,
        0.486,
        0.5811818,
        0.714875,
        0.7532308,
        0.8132143,
        1,
    ]
    assert benjamini_hochberg(p_values) == pytest.approx(bh, abs=5e-8)
    assert holm(p_values) == pytest.approx([0.0015, 0.0056, 0.0247, 0.114, 0.2211, 0.278, 0.278, 0.278, 0.3213, *[1] * 6])


def tally(lineage, site, age_counts, standard=""):
    role = "check" if standard else "test"
    return {
        age: Tally((lineage,), role, site, f"P-{site}", lineage, standard, False, True, list(Counts(**given)))
        for age, given in age_counts.items()
    }  # fmt: skip


def lives(*tallies):
    ages = sorted({age for one in tallies for age in one})
    return lineage_lives({age: [one[age] for one in tallies if age in one] for age in ages})


def test_a_census_a_year_gives_the_identity_of_hazards():
    """Deaths 12, 6, 9, 3 of 100, 88, 80, 71 at risk, two trees not seen again after the second census: worked out by hand."""
    years = {
        1: {"planted": 100, "alive": 88, "dead": 12}, 2: {"planted": 100, "alive": 82, "dead": 18},
        3: {"planted": 100, "alive": 71, "dead": 25, "not_found": 2, "not_visited": 2}, 4: {"planted": 100, "alive": 68, "dead": 30, "not_visited": 2},
    }  # fmt: skip
    [one] = lives(tally("A", "S", years)).lineages
    assert [(step.at_risk, step.deaths) for step in one.steps] == [(100, 12), (88, 6), (80, 9), (71, 3)]
    assert [step.share for step in one.steps] == pytest.approx([0.88, 0.82, 0.72775, 0.69700], abs=5e-6)
    assert [step.deaths / step.at_risk for step in one.steps] == pytest.approx([0.12, 0.0681818, 0.1125, 0.0422535], abs=5e-8)
    assert (one.test, one.reason, one.trees) == (None, NO_NATIVE, 100)


def test_a_missing_census_shares_its_deaths_out_over_the_years():
    """Of 20 trees 2 die a year on either site; the two that T found dead after two years fall one to each, by symmetry."""
    complete = {age: {"planted": 10, "alive": 10 - age, "dead": age} for age in (1, 2, 3)}
    found = lives(tally("A", "S", complete), tally("A", "T", {1: complete[1], 3: complete[3]}))
    [one] = found.lineages
    assert [(step.at_risk, step.deaths) for step in one.steps] == [(20, 2), (18, 1), (17, 3)]
    assert [step.share for step in one.steps] == pytest.approx([0.9, 0.8, 0.7], abs=1e-8)
    assert found.skipped == ("P-T",) and found.ages == (1, 2, 3) and one.gaps


def test_a_tree_not_seen_and_then_found_dead_died_since_it_was_last_seen():
    """Of 10 trees one dies in the first year and two, not visited at the second census, are dead at the third: they fall one to each year, as on the other site."""
    years = {
        1: {"planted": 10, "alive": 9, "dead": 1}, 2: {"planted": 10, "alive": 7, "dead": 1, "not_visited": 2},
        3: {"planted": 10, "alive": 7, "dead": 3},
    }  # fmt: skip
    other = {
        1: {"planted": 10, "alive": 9, "dead": 1},
        2: {"planted": 10, "alive": 8, "dead": 2},
        3: {"planted": 10, "alive": 7, "dead": 3},
    }
    [one] = lives(tally("A", "S", years), tally("A", "T", other)).lineages
    assert one.gaps and [step.share for step in one.steps] == pytest.approx([0.9, 0.8, 0.7], abs=1e-8)


def test_a_lineage_is_tested_within_sites_against_the_checks_beside_it():
    well = {1: {"planted": 40, "alive": 36, "dead": 4}}
    badly = {1: {"planted": 40, "alive": 20, "dead": 20}}
    found = lives(*(tally("A", site, well) for site in "ST"), *(tally("n", site, badly, NATIVE) for site in "STU"), tally("B", "X", well))
    one, other = found.lineages
    plain = log_rank([(np.array([[4], [20]]), np.array([[40], [40]]))] * 2)
    assert lives_sentence(found).startswith("1 of 1 lineage outlives the native check in the same plantings (log-rank within sites")
    assert lives_sentence(lives(tally("B", "X", well))).startswith("No lineage here can be compared")
    assert one.test == plain and one.holm == one.bh == plain.p and one.check[0].at_risk == 80 and other.reason == NO_NATIVE
    assert one.hazard.ratio == pytest.approx(np.log(0.9) / np.log(0.5)) and hazard_range(one.hazard).startswith("0.15 (")
    assert "With one interval nobody can tell" in life_sentence(one, found, 2) and hazard_range(other.hazard) == ""
    assert life_sentence(other, found, 2).endswith("No test: no native check in the same plantings.")


def test_a_lineage_that_reacts_to_single_sites_is_not_called_longer_lived():
    """Of four sites it lives better in three and worse in one: the trees alone say that it outlives the check, the sites do not."""
    better, worse = {1: {"planted": 100, "alive": 90, "dead": 10}}, {1: {"planted": 100, "alive": 40, "dead": 60}}
    check = {1: {"planted": 100, "alive": 60, "dead": 40}}
    found = lives(
        *(tally("A", site, worse if site == "T" else better) for site in "RSTU"), *(tally("n", site, check, NATIVE) for site in "RSTU")
    )
    [one] = found.lineages
    assert one.holm < 0.001 and one.hazard.low < 1 < one.hazard.high
    assert lives_sentence(found).startswith(
        "Of 1 lineage none outlives the native check in the same plantings; for 1 no difference can be told ("
    )


def test_an_impossible_confidence_is_refused():
    assert normal_quantile(0.95) == pytest.approx(1.959964, abs=5e-7)  # tables of the normal distribution
    with pytest.raises(ValueError):
        normal_quantile(95)


def test_sites_that_differ_make_the_band_wider():
    alike, apart = (band_over_sites(np.array([[dead] for dead in given]), np.full((4, 1), 40))[0] for given in ([10] * 4, [1, 4, 15, 20]))
    assert alike.share == apart.share == 0.75
    assert (alike.low, alike.high) == (life_table([40], [160])[0].low, life_table([40], [160])[0].high)
    assert apart.low < alike.low and apart.high > alike.high


def test_the_lung_data_have_the_tests_of_r_survdiff():
    """R 4.2.2, survival 3.5-3: plain, by institution, by ECOG score, and rho = 1; two of those also for the smaller sets."""
    people = lung()

    def by(place):
        labels = sorted({person[place] for person in people} - {"-"})
        groups = [[[person[:2] for person in people if person[place] == label and person[2] == sex] for sex in "mf"] for label in labels]
        return log_rank([counts(*pair)[1:] for pair in groups])

    sexes = [[person[:2] for person in people if person[2] == sex] for sex in "mf"]
    plain = log_rank([counts(*sexes)[1:]])
    assert plain.expected == pytest.approx([91.581739, 73.418261], abs=5e-7)
    assert (plain.chi_square, plain.p) == (pytest.approx(10.326742, abs=5e-7), pytest.approx(0.0013112, abs=5e-8))
    assert (by(3).chi_square, by(3).p) == (pytest.approx(8.524467, abs=5e-7), pytest.approx(0.0035040, abs=5e-8))
    assert (by(4).chi_square, by(4).p) == (pytest.approx(10.795060, abs=5e-7), pytest.approx(0.0010177, abs=5e-8))
    early = [sexes, (MAINTAINED, NOT_MAINTAINED), (TREATED, [(time, 1) for time in CONTROL])]
    assert [log_rank([counts(*pair)[1:]], early=True).chi_square for pair in early] == pytest.approx(
        [12.714151, 2.779280, 14.457151], abs=5e-7
    )
    at_365 = [[step for time, step in table(sex).items() if time <= 365][-1] for sex in sexes]
    assert [step.share for step in at_365] == pytest.approx([0.336088, 0.526463], abs=5e-7)
    assert [(step.low, step.high) for step in at_365] == [
        pytest.approx(ends, abs=5e-7) for ends in ((0.252729, 0.421302), (0.403580, 0.635316))
    ]


def test_an_actuarial_table_is_a_life_table_with_half_of_the_lost_at_risk():
    """Cutler & Ederer 1958, J. Chronic Dis. 8:699-712, as R KMsurv::lifetab gives it."""
    steps = life_table([47, 5, 2, 2, 0], [116.5, 51.5, 30.5, 16.5, 7.0])
    assert [step.share for step in steps] == pytest.approx([0.596567, 0.538647, 0.503326, 0.442317, 0.442317], abs=5e-7)
    assert [step.error for step in steps][:4] == pytest.approx([0.045452, 0.047854, 0.050817, 0.060248], abs=5e-7)
