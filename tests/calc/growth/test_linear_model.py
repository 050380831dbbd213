"""The linear mixed model against statsmodels MixedLM, on the Grunfeld data that statsmodels carries: 11 firms as sites, two decades as
lineages, 20 values a firm (Grunfeld 1958; public domain)."""

import warnings

import numpy as np
import pytest

from plantings.calc.growth.linear_model import FEW_SITES, NONE_DIFFER, GrowthCell, linear_fit


@pytest.fixture(scope="module")
def grunfeld():
    from statsmodels.datasets import grunfeld as data

    frame = data.load_pandas().data
    return frame.assign(late=np.where(frame["year"] < 1945, "early", "late"), value=np.log(frame["invest"]))


def cells_of(frame):
    groups = frame.groupby(["late", "firm"])["value"]
    return [GrowthCell(*key, len(one), one.mean(), ((one - one.mean()) ** 2).sum()) for key, one in groups]


@pytest.mark.parametrize("reaction", [False, True])
def test_the_model_is_that_of_statsmodels(grunfeld, reaction):
    from statsmodels.regression.mixed_linear_model import MixedLM

    # uneven cells: the first firms lose some of their values
    frame = grunfeld.drop(index=[*range(3), *range(20, 29), *range(50, 56)])
    fit = linear_fit(cells_of(frame), reaction)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        more = {"vc_formula": {"late": "0 + C(late)"}} if reaction else {}
        known = MixedLM.from_formula("value ~ 0 + late", frame, groups="firm", re_formula="1", **more).fit(reml=True, gtol=1e-8)
    assert fit.lineages == ("early", "late")
    assert fit.log_likelihood == pytest.approx(known.llf, abs=2e-3)
    assert fit.means == pytest.approx(known.fe_params.to_numpy(), abs=2e-4)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(known.bse_fe.to_numpy(), rel=2e-3)
    assert fit.tree_sd**2 == pytest.approx(known.scale, rel=2e-3) and fit.site_sd**2 == pytest.approx(known.cov_re.iloc[0, 0], rel=5e-3)
    assert (fit.reaction_sd > 0) == reaction and (not reaction or fit.reaction_sd**2 == pytest.approx(known.vcomp[0], rel=5e-3))


def test_with_equal_cells_the_means_are_plain_means(grunfeld):
    fit = linear_fit(cells_of(grunfeld))
    assert fit.means == pytest.approx(grunfeld.groupby("late")["value"].mean().to_numpy())


def test_sites_that_do_not_differ_get_no_spread():
    cells = [GrowthCell(label, site, 4, mean, 30.0) for site in "STUV" for label, mean in (("A", 10.0), ("B", 12.0))]
    fit = linear_fit(cells)
    assert (fit.site_sd, fit.reaction_sd) == (0.0, 0.0) and fit.means == pytest.approx([10, 12]) and fit.reason == ""


def test_a_thin_design_is_said():
    assert linear_fit([GrowthCell("A", site, 3, 5.0, 1.0) for site in "ST"]).reason == FEW_SITES
    assert linear_fit([GrowthCell("A", site, 1, 5.0, 0.0) for site in "STU"]).reason == NONE_DIFFER
