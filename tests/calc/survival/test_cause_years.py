"""New deaths by cause and year. Expected numbers are worked out by hand from the definition."""

from collections import Counter
from operator import itemgetter

from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.survival.cause_years import OTHERS, cause_years


def test_what_is_new_at_each_census_adds_up_over_the_plantings():
    found = cause_years([[(2022, {"deer": 3}), (2023, {"deer": 5, "canker": 1})], [(2023, {"deer": 2}), (2024, {"deer": 2})]])
    assert found.trees == {("deer", 2022): 3, ("deer", 2023): 4, ("canker", 2023): 1}
    assert (found.causes, found.years, found.total("deer")) == (("deer", "canker"), (2022, 2023, 2024), 7)


def test_a_number_that_falls_and_rises_again_counts_once():
    assert cause_years([[(2022, {"deer": 3}), (2023, {"deer": 1}), (2024, {"deer": 4})]]).trees == {("deer", 2022): 3, ("deer", 2024): 1}


def test_rare_causes_are_put_together():
    found = cause_years([[(2022, {"a": 5, "b": 4, "c": 2, "d": 1})]], most=2)
    assert found.causes == ("a", "b", OTHERS) and found.total(OTHERS) == 3


def test_nothing_is_a_table_of_nothing():
    assert cause_years([]) == ((), (), {}) and cause_years([[(2022, {})]]).years == (2022,)


_COUNTS = st.dictionaries(st.sampled_from(["deer", "canker", ""]), st.integers(1, 9))


_PLANTING = st.lists(st.tuples(st.integers(2020, 2024), _COUNTS), max_size=4).map(lambda found: sorted(found, key=itemgetter(0)))


@given(st.lists(_PLANTING, max_size=3))
def test_what_is_new_is_above_the_highest_count_before(censuses):
    """The definition, planting by planting and census by census."""
    expected = Counter()
    for planting in censuses:
        for cause in ("deer", "canker", ""):
            highest = 0
            for year, counts in planting:
                expected[cause, year] += max(0, counts.get(cause, 0) - highest)
                highest = max(highest, counts.get(cause, 0))
    assert cause_years(censuses).trees == {key: trees for key, trees in expected.items() if trees}
