"""Hazards by census interval against R glm and statsmodels, and what the comparison with a check says where it cannot tell."""

import numpy as np
import pytest

from plantings.calc.lifetimes import hazards
from plantings.calc.lifetimes.hazards import ALL_DIED, CLOGLOG, LOGIT, NO_CHECK_DIED, NONE_DIED, grouped_fit, hazard_ratio
from tests.calc.lifetimes.reference_data import LUNG_AGES, lung


def person_periods(people, width):
    """{(period, covariates): [deaths, at risk]} of (days, died, covariates); a censored one adds whole periods only."""
    cells = {}
    for days, died, *covariates in people:
        periods = -(-days // width) if died else days // width
        for period in range(periods):
            pair = cells.setdefault((period, *covariates), [0, 0])
            pair[0] += died and period == periods - 1
            pair[1] += 1
    return cells


def test_the_complementary_log_log_has_the_reference_values():
    """R 4.2.2 glm with tight tolerances and statsmodels: `lung` in half years by sex; Prentice & Gloeckler 1978."""
    cells = person_periods([(days, died, 1.0 + (sex == "f")) for days, died, sex, *_ in lung()], 182)
    x = [[1.0, *(float(period == place) for place in range(1, 5)), sex] for period, sex in cells]
    fit = grouped_fit(*zip(*cells.values(), strict=True), np.array(x))
    expected = [-0.3963936, 0.5575096, 0.4090430, 0.8330344, 1.1338240, -0.4748298]
    assert fit.converged and fit.log_likelihood == pytest.approx(-276.492928, abs=1e-6)
    assert fit.coefficients == pytest.approx(expected, abs=1e-7)
    assert fit.covariance[-1, -1] ** 0.5 == pytest.approx(0.1684968, abs=1e-6)


@pytest.mark.parametrize(
    ("link", "sex", "age", "height"),
    [(CLOGLOG, -0.4855378, 0.0142070, -397.710044), (LOGIT, -0.5590482, 0.0162198, -397.425140)],
)
def test_a_covariate_by_quarters_has_the_reference_values(link, sex, age, height):
    """R 4.2.2 glm with tight tolerances and statsmodels: `lung` by 90 days, the ninth period and later ones together, by sex and age. The
    log-likelihood of the logit is our own: the references give none."""
    people = [
        (days, died, 1.0 + (sex == "f"), float(years)) for (days, died, sex, *_), years in zip(lung(), LUNG_AGES.split(), strict=True)
    ]
    cells = person_periods(people, 90)
    assert tuple(map(sum, zip(*cells.values(), strict=True))) == (165, 830)
    x = [[1.0, *(float(min(period, 8) == place) for place in range(1, 9)), *covariates] for period, *covariates in cells]
    fit = grouped_fit(*zip(*cells.values(), strict=True), np.array(x), link)
    assert fit.coefficients[-2:] == pytest.approx([sex, age], abs=5.5e-8)
    assert fit.log_likelihood == pytest.approx(height, abs=1e-6)
    if link == CLOGLOG:
        assert np.sqrt(np.diag(fit.covariance))[-2:] == pytest.approx([0.1675610, 0.0091585], abs=5.5e-8)


# Freireich et al. 1963, as `gehan` of R MASS, in periods of five weeks: (at risk, deaths) treated, control.
GEHAN = [[(21, 0), (19, 5), (12, 1), (9, 1), (7, 2)], [(21, 9), (12, 4), (8, 5), (3, 1), (2, 2)]]


@pytest.mark.parametrize(
    ("link", "last", "error", "height"),
    [(CLOGLOG, 1.673574, 0.425535, -55.532077), (LOGIT, 1.969980, 0.510417, -55.605710)],
)
def test_both_links_have_the_reference_values(link, last, error, height):
    rows = [(place, group, n, y) for group, periods in enumerate(GEHAN) for place, (n, y) in enumerate(periods)]
    x = np.array([[*(float(place == one) for one in range(5)), float(group)] for place, group, *_ in rows])
    fit = grouped_fit([row[3] for row in rows], [row[2] for row in rows], x, link)
    assert (fit.coefficients[-1], fit.covariance[-1, -1] ** 0.5) == (pytest.approx(last, abs=1e-6), pytest.approx(error, abs=1e-6))
    assert fit.log_likelihood == pytest.approx(height, abs=1e-6)
    if link == CLOGLOG:
        assert fit.coefficients[:5] == pytest.approx([-2.477291, -2.029943, -1.871988, -2.379632, -0.854272], abs=5.5e-7)


def test_levels_of_sites_give_what_a_column_for_each_site_gives():
    random = np.random.default_rng(4)
    sites, ages, group = (part.ravel() for part in np.meshgrid(range(6), range(3), (0.0, 1.0), indexing="ij"))
    n = random.integers(15, 40, len(sites))
    y = random.binomial(n, 0.1 + 0.03 * sites)
    x = np.column_stack([ages == 1, ages == 2, group]).astype(float)
    columns = np.column_stack([np.eye(6)[sites], x])
    for link in (CLOGLOG, LOGIT):
        fit, dense = grouped_fit(y, n, x, link, strata=sites), grouped_fit(y, n, columns, link)
        assert fit.converged and fit.log_likelihood == pytest.approx(dense.log_likelihood, abs=1e-9)
        assert fit.coefficients == pytest.approx(dense.coefficients[6:], abs=1e-9)
        assert fit.covariance == pytest.approx(dense.covariance[6:, 6:], abs=1e-9)
        assert fit.scores @ fit.covariance[-1] == pytest.approx(dense.scores @ dense.covariance[-1], abs=1e-9)
    with pytest.raises(ValueError):
        grouped_fit(y, n, x, strata=sites[1:])


def exact(ratio, hazards_of, trees=100_000):
    """Cells that have the ratio exactly: {(site, before, after): (deaths, at risk)} of hazards by site and interval."""
    return {key: (round(trees * -np.expm1(-ratio * hazard)), trees) for key, hazard in hazards_of.items()}


def test_a_missed_census_and_hard_sites_leave_the_ratio_as_it_is():
    """Hazards of an interval over two censuses add up, so its own term takes them; worked out by hand."""
    of = {("S", 0, 1): 0.1, ("S", 1, 2): 0.2, ("S", 2, 3): 0.3, ("T", 0, 1): 0.25, ("T", 1, 3): 1.25}
    found = hazard_ratio(exact(0.5, of), exact(1, of))
    assert found.ratio == pytest.approx(0.5, abs=1e-4) and found.sites == 2 and found.low < 0.5 < found.high
    assert found.constant_p > 0.5 and found.odds < 0.5
    assert hazard_ratio(exact(0.5, of | {("S", 2, 3): 1.2}), exact(1, of)).constant_p < 0.001


def test_sites_that_react_differently_make_the_interval_wider():
    cells = {(site, 0, 1): (dead, 60) for site, dead in zip("STUV", (5, 25, 8, 22), strict=True)}
    checks = {(site, 0, 1): (15, 60) for site in "STUV"}
    one = hazard_ratio(cells, checks)
    alike = hazard_ratio(dict.fromkeys(cells, (15, 60)), checks)
    assert one.high / one.low > 1.5 * alike.high / alike.low and alike.ratio == pytest.approx(1)


def test_where_nothing_can_be_told_the_reason_is_said(monkeypatch):
    some, none, every = {("S", 0, 1): (5, 20)}, {("S", 0, 1): (0, 20)}, {("S", 0, 1): (20, 20)}
    assert (hazard_ratio(none, some).reason, hazard_ratio(some, none).reason) == (NONE_DIED, NO_CHECK_DIED)
    assert hazard_ratio(every, every).reason == ALL_DIED and hazard_ratio(some, {("T", 0, 1): (5, 20)}).reason == NONE_DIED
    monkeypatch.setattr(hazards, "_TURNS_MAX", 1)
    assert hazard_ratio(some, {("S", 0, 1): (19, 20)}).reason == hazards.NOT_FITTED
    with pytest.raises(ValueError):
        grouped_fit([3], [2], np.ones((1, 1)))
