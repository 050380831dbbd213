"""The page of life tables: from the records to the curves, their table and their download."""

import csv
import io

import pytest
from django.urls import reverse

from plantings.selectors.survival.lifetimes import lineage_lifetimes
from plantings.selectors.survival.rounds import SurvivalFilter
from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted, figures, planting_on
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(client):
    """Two sites with a lot and a native check, counted after one, two and three seasons; one site without the second census."""
    lead = factories.person("lead")
    client.force_login(lead)
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    lot = factories.stock_lot(actor=lead, plants=900)
    for seasons in ((1, 2, 3), (1, 3)):
        planting = planting_on(factories.site())
        for one, role, alive in ((lot, "test", (36, 33, 30)), (native, "check", (30, 20, 10))):
            plot = counted(planting, one, 40, alive[0], role=role)
            for season in seasons[1:]:
                count_again(plot, season, alive[season - 1], 40 - alive[season - 1])
    return lead, lot, planting


def test_the_life_of_a_lot_is_counted_from_its_censuses(here):
    lead, lot, skipped = here
    lives = lineage_lifetimes(lead, "lot", SurvivalFilter()).lives
    [one] = lives.lineages
    assert (one.label, one.trees, one.sites, lives.ages, lives.skipped) == (lot.code, 80, 2, (1, 2, 3), (skipped.code,))
    assert [(step.at_risk, step.deaths) for step in one.steps] == [(80, 8), (72, 3), (69, 9)]
    assert [(step.at_risk, step.deaths) for step in one.check] == [(80, 20), (60, 10), (50, 30)]
    assert one.test.p == one.holm < 0.001
    assert one.gaps and one.hazard.ratio < 0.5 and one.hazard.sites == 2
    # all trees were assessed, so the curve ends at the survival of the last age
    assert one.steps[-1].share == pytest.approx(figures(lead, season=3)[lot.code, "under test"].share)


def test_the_page_draws_the_curve_and_says_it_in_words(client, here):
    _lead, lot, skipped = here
    text = client.get(reverse("survival_lifetimes"), {"level": "lot"}).content.decode()
    assert text.count('class="drawn-curve"') == text.count('class="drawn-check"') == 1
    assert "Alive after 3: 0.75" in text and "Log-rank within sites" in text and "p under 0.001." in text
    assert "Hazard as a multiple of that of the native check: 0." in text and "p, same hazard ratio at all ages" in text
    assert f"1 planting without a census of some age: {skipped.code}." in text and f"{reverse('help')}#lifetimes" in text


def test_the_download_is_one_row_for_each_age_and_line(client, here):
    _lead, lot, _skipped = here
    response = client.get(reverse("survival_lifetimes"), {"level": "lot", "download": "csv"})
    rows = list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))
    assert [(row["Line"], row["Growing seasons"], row["At risk"]) for row in rows[:4]] == [
        ("lineage", "1", "80"), ("lineage", "2", "72"), ("lineage", "3", "69"), ("native check", "1", "80"),
    ]  # fmt: skip
    assert len(rows) == 6 and rows[0]["Survival"] == "0.9"


def test_each_site_has_its_own_small_curves_on_the_page_and_on_paper(client, here):
    lead, lot, planting = here
    few = counted(planting, factories.stock_lot(actor=lead, plants=90), 4, 3)
    address, chosen = reverse("survival_by_site"), {"level": "lot"}
    response = client.get(address, chosen)
    sites = {site: {one.label: (one, *rest) for one, *rest in lives} for site, lives in response.context["sites"]}
    assert sorted(map(len, sites.values())) == [1, 2]
    small, none, _words = sites[planting.site.code].pop(few.entry.lot.code)
    assert none is None and small.trees == 4
    whole, picture, words = next(lives[lot.code] for site, lives in sites.items() if site != planting.site.code)
    assert picture is not None
    assert [(step.at_risk, step.deaths) for step in whole.steps] == [(40, 4), (36, 3), (33, 3)]
    assert words.startswith("Alive after 3: 0.75 (") and "native check after 3: 0.25 (" in words
    text = response.content.decode()
    assert text.count("drawn-curve") == text.count("drawn-check") == 2 and "Too few trees for a curve." in text
    rows = list(csv.reader(io.StringIO(client.get(address, chosen | {"download": "csv"}).content.decode("utf-8-sig"))))
    assert len(rows) == 1 + 3 + 2 + 1
    printed = " ".join(" ".join(page_texts(client.get(address, chosen | {"download": "pdf"}).content)).split())
    assert all(f"{lot.code}, 40 trees: Alive after 3" in printed and site in printed for site in sites)
