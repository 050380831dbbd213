"""Growth of lineages beside the native checks. Equal cells, so that means are plain means; the model is tested on its own."""

import pytest

from plantings.calc.growth.growth import ONE_SITE, GrowthGroup, growth_of
from plantings.calc.growth.linear_model import FEW_SITES
from plantings.calc.growth.words import difference_of, grown_words, growth_sentence, rounded
from plantings.calc.survival.measured import MeasuredGroup
from plantings.calc.survival.table import NATIVE

LINEAGE, CHECK = GrowthGroup("", "A"), GrowthGroup(NATIVE, "")


def measured(label, site, *values, standard=""):
    role = "check" if standard else "test"
    return [MeasuredGroup((label,), role, standard, False, site, site, value, 1) for value in values]


def trial(sites):
    found = []
    for number, site in enumerate(sites):
        found += measured("A", site, 100 + 10 * number, 104 + 10 * number)
        found += measured("x", site, 80 + 10 * number, 84 + 10 * number, standard=NATIVE)
    return found


def test_a_lineage_has_its_mean_interval_and_difference_at_each_age():
    growth = growth_of({2: trial("ST"), 5: trial("STUV")})
    assert growth.ages == (2, 5) and growth.groups == (LINEAGE, CHECK) and growth.no_model == {2: FEW_SITES}
    one, check = growth.grown[LINEAGE, 5], growth.grown[CHECK, 5]
    assert (one.n, one.sites, check.difference) == (8, 4, None)
    assert one.mean == pytest.approx(117) and one.difference.estimate == pytest.approx(20)
    assert one.low < 117 < one.high and 0 < one.difference.low < one.difference.high
    assert growth.grown[LINEAGE, 2].mean == 107 and growth.grown[LINEAGE, 2].difference is None


def test_on_one_site_nothing_but_the_mean_is_told():
    growth = growth_of({5: [*trial("STU"), *measured("B", "S", 90, 92)], 1: measured("A", "S", 50)})
    alone = growth.grown[GrowthGroup("", "B"), 5]
    assert (alone.low, alone.reason, alone.difference.low, alone.difference.reason) == (None, ONE_SITE, None, ONE_SITE)
    assert grown_words(growth.grown[LINEAGE, 1]) == "50.0 (one site: cannot tell), n 1"


def test_sentences_are_made_from_the_numbers():
    growth = growth_of({5: trial("STUV")})
    one = growth.grown[LINEAGE, 5]
    assert growth_sentence(growth, LINEAGE, "A", "cm") == (
        f"A: 117 cm ({one.low:.0f} to {one.high:.0f}) after 5 growing seasons, 8 trees on 4 sites. "
        f"From the native check: {difference_of(one)}."
    )
    assert rounded(3.2, 1.37, 33.5) == "3.2"
    assert difference_of(one).startswith("+20.0 (+") and difference_of(growth.grown[CHECK, 5]) == ""
    assert [rounded(value) for value in (1234.4, 99.96, 9.996, -0.001, -3.2)] == ["1,234", "100", "10.0", "0.00", "−3.20"]


def test_nothing_measured_is_an_empty_table():
    assert growth_of({1: []}).groups == ()
