"""When a census round is a result, and which one a table takes."""

import pytest

from plantings.calc.survival.census_choice import CensusChoice, read_census_choice
from plantings.calc.survival.completeness import Progress, why_not_complete


# Definition of this programme: window closed or every position settled, and at least the share of positions assessed.
@pytest.mark.parametrize(
    ("progress", "closed", "why"),
    [
        (Progress(100, 80, 20), True, ""),
        (Progress(100, 79, 21), True, "thin"),
        (Progress(100, 99, 1), False, "open"),
        (Progress(100, 90, 0), False, ""),  # ten positions not located: settled, not assessed
        (Progress(100, 79, 0), False, "thin"),
        (Progress(0, 0, 0), False, ""),
        (Progress(100, 85, 15, ended=85), True, "thin"),  # nobody went: only those dead before are known
        (Progress(100, 97, 3, ended=85), True, ""),  # 12 of the 15 left
        (Progress(100, 100, 0, ended=100), True, ""),
    ],
)
def test_a_round_is_open_thin_or_complete(progress, closed, why):
    assert why_not_complete(progress, closed) == why


def test_the_share_is_the_one_the_programme_sets():
    assert why_not_complete(Progress(10, 9, 1), True, percent=90) == ""
    assert why_not_complete(Progress(10, 9, 1), True, percent=91) == "thin"


@pytest.mark.parametrize("code", ["age-3", "season-2025", "visit-2", "latest"])
def test_a_census_is_read_from_its_address_and_written_back(code):
    assert read_census_choice(code).code == code


@pytest.mark.parametrize("code", ["", "age", "age-", "age-3.5", "age--1", "age-33333", "visit-²", "year-2025", "latest-1", "AGE-3"])
def test_what_is_no_census_is_refused(code):
    with pytest.raises(ValueError, match="is not a census"):
        read_census_choice(code)


def test_a_round_is_of_its_age_its_season_and_its_visit():
    held = [CensusChoice(*moment).holds(3, 2025, 2) for moment in (("age", 3), ("season", 2025), ("visit", 2), ("latest",))]
    assert held == [True] * 4
    assert not any(CensusChoice(kind, 1).holds(3, 2025, 2) for kind in ("age", "season", "visit"))
