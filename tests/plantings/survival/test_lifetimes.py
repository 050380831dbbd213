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
    small, none, _words, _is_small = sites[planting.site.code].pop(few.entry.lot.code)
    assert none is None and small.trees == 4
    whole, picture, words, _is_small = next(lives[lot.code] for site, lives in sites.items() if site != planting.site.code)
    assert picture is not None
    assert [(step.at_risk, step.deaths) for step in whole.steps] == [(40, 4), (36, 3), (33, 3)]
    assert words.startswith("Alive after 3: 0.75 (") and "native check after 3: 0.25 (" in words
    text = response.content.decode()
    assert text.count("drawn-curve") == text.count("drawn-check") == 2 and "Too few trees for a curve." in text
    rows = list(csv.reader(io.StringIO(client.get(address, chosen | {"download": "csv"}).content.decode("utf-8-sig"))))
    assert len(rows) == 1 + 3 + 2 + 1
    printed = " ".join(" ".join(page_texts(client.get(address, chosen | {"download": "pdf"}).content)).split())
    assert all(f"{lot.code}, 40 trees: Alive after 3" in printed and site in printed for site in sites)


def only_one_look(season=1, **where):
    """A lot and a native check on one site with one complete census."""
    actor = factories.person("lead")
    native = factories.stock_lot(actor=actor, plants=900, taxon=factories.taxon(role="native"))
    lot, planting = factories.stock_lot(actor=actor, plants=900), planting_on(factories.site(**where))
    plot = counted(planting, lot, 40, 30, season=season)
    return plot, counted(planting, native, 40, 20, role="check", season=season)


NO_CURVE = "No curve is drawn: no lineage here has complete censuses of two ages. Known is the share alive at that census."


def test_after_one_census_a_sentence_and_the_table_are_in_place_of_a_curve(client):
    client.force_login(factories.person("lead"))
    plots = only_one_look()
    text = client.get(reverse("survival_lifetimes"), {"level": "lot"}).content.decode()
    assert "drawn-curve" not in text and "drawn-check" not in text and "drawn-band" not in text and "Heavy line" not in text
    assert NO_CURVE in text and "Needed for a curve: a second complete census of the same trees, at another age." in text
    # 30 of 40 and 20 of 40 alive, in the sentence and in the table
    assert text.count("0.75 (") == 2 and "native check after 1: 0.50 (" in text
    small = client.get(reverse("survival_by_site"), {"level": "lot"}).content.decode()
    assert "drawn-curve" not in small and "No curve: complete censuses of one age only." in small and "Too few trees" not in small
    printed = " ".join(" ".join(page_texts(client.get(reverse("survival_by_site"), {"level": "lot", "download": "pdf"}).content)).split())
    assert "Alive after 1: 0.75" in printed and "nor has a complete census of one age alone" in printed
    for plot, alive in zip(plots, (28, 12), strict=True):
        count_again(plot, 2, alive, 40 - alive)
    text = client.get(reverse("survival_lifetimes"), {"level": "lot"}).content.decode()
    assert text.count('class="drawn-curve"') == text.count('class="drawn-check"') == 1 and "No curve" not in text


def test_a_lineage_with_one_census_among_others_has_no_curve(client, here):
    """Its one look is at the third age: the estimate has three steps, of which one census knows."""
    lead, _lot, _planting = here
    client.force_login(lead)
    late, _check = only_one_look(season=3)
    response = client.get(reverse("survival_lifetimes"), {"level": "lot"})
    pictures = {one.label: (one, picture) for one, picture, _words in response.context["panels"]}
    one, picture = pictures.pop(late.entry.lot.code)
    assert len(one.steps) == 3 and one.looks == 1 and picture is None
    assert all(other is not None for _one, other in pictures.values())
    text = response.content.decode()
    assert text.count("No curve: complete censuses of one age only.") == 1 and "No curve is drawn" not in text


def test_where_no_check_is_assessed_the_pages_name_none(client):
    client.force_login(factories.person("lead"))
    planting = planting_on(factories.site())
    for lot, alive in ((factories.stock_lot(plants=900), (36, 33)), (factories.stock_lot(plants=900), (30, 20))):
        count_again(counted(planting, lot, 40, alive[0]), 2, alive[1], 40 - alive[1])
    pages = {name: client.get(reverse(name), {"level": "lot"}) for name in (
        "survival_lineages", "survival_lifetimes", "survival_by_site", "survival_growth"
    )}  # fmt: skip
    assert pages["survival_lineages"].context["title"] == "Lineages beside each other"
    for page in pages.values():
        text = page.content.decode()
        head, foot = text.partition('id="how"')[0].partition("<form")[::2]
        assert "native" not in head.lower() and "Heavy line" not in foot and page.status_code == 200
