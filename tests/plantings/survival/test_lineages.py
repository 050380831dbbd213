"""The page of lineages beside the native check: what it reads, its filters and its downloads."""

import csv
import io
import re

import pytest
from django.urls import reverse

from plantings.calc.lineages import model_answer
from plantings.models import PlotCount
from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted, planting_on

pytestmark = pytest.mark.django_db


def lineages(**site):
    """(three lots under test, with a native check on three sites; a lot of four trees)."""
    lead = factories.person("lead")
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    lots = [factories.stock_lot(actor=lead, plants=900) for _ in range(3)]
    small = factories.stock_lot(actor=lead, plants=90)
    for ease in (0, 3, 6):
        planting = planting_on(factories.site(**site))
        for lot, alive in zip(lots, (18, 12, 4), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 20, 4, role="check")
    counted(planting, small, 4, 4)
    return lots, small


@pytest.fixture
def page(client):
    client.force_login(factories.person("lead"))
    return lambda **query: client.get(reverse("survival_lineages"), {"level": "lot", **query}), *lineages()


def test_the_page_orders_lots_and_names_what_cannot_be_told(page):
    get, lots, small = page
    response = get()
    found = response.context["found"]
    assert [one.label for one in found.ranked] == [lot.code for lot in lots]
    assert [one.label for one in found.unranked] == [small.code]
    text = response.content.decode()
    assert "fewer than five trees assessed" in text and "Assess at least five of its trees." in text
    assert "it proposes, people decide" in text and f"{reverse('help')}#lineages" in text
    assert text.count("drawn-estimate") == 3


def test_the_download_has_the_rows_of_the_page_and_the_reasons(page):
    get, lots, small = page
    rows = list(csv.DictReader(io.StringIO(get(download="csv").content.decode("utf-8-sig"))))
    assert [row["Lot"] for row in rows] == [*(lot.code for lot in lots), small.code]
    assert rows[-1]["Cannot tell"] == "fewer than five trees assessed" and rows[0]["Assessed"] == "90"


def test_filters_are_in_the_address_and_a_wrong_one_is_said(page):
    get, lots, _small = page
    site = factories.site()
    assert get(site=site.code).context["found"].ranked == ()
    assert get(population="sown").context["found"].ranked == ()
    response = get(at="age-x")
    assert response.status_code == 400 and "is not a census" in response.content.decode()


def test_a_landowner_reads_lineages_and_life_tables_in_french(client):
    owner = factories.person("landowner", partner=factories.partner())
    lots, _small = lineages(partner=owner.partner)
    for count in PlotCount.objects.select_related("plot"):  # a curve needs a second census
        count_again(count.plot, 2, count.alive, count.dead)
    client.force_login(owner)
    client.cookies["mastbook_language"] = "fr"
    order, lives = (client.get(reverse(route), {"level": "lot"}).content.decode() for route in ("survival_lineages", "survival_lifetimes"))
    assert "moins de cinq arbres évalués" in order and "Il faut\N{NO-BREAK SPACE}: évaluer au moins cinq de ses arbres." in order
    assert re.search(
        rf"La survie de {lots[0].code} est de 0,\d\d \(0,\d\d à 0,\d\d\) supérieure à celle du témoin indigène, sur 3 sites.", order
    )
    assert "vivent plus longtemps que le témoin indigène des mêmes plantations" in lives
    assert re.search(r"Log-rank par site\N{NO-BREAK SPACE}: khi carré \d+,\d, p moins de 0,001", lives)
    drawn = re.findall(r"<(?:svg|line|path|circle|rect|text|polyline|polygon)[^>]*>", order + lives)
    assert any('class="drawn-estimate"' in mark for mark in drawn) and any('class="drawn-curve"' in mark for mark in drawn)
    assert [mark for mark in drawn if re.search(r'="[^"]*\d,\d', mark)] == []


def test_results_open_with_the_picture_of_the_lineages_page(page, client):
    get, *_ = page
    response, lineages_page = client.get(reverse("results")), get(level="mother")
    assert response.context["found"] == lineages_page.context["found"] and response.context["found"].ranked
    opening, rest = response.content.decode().split('class="ranks-part"')
    assert response.context["opening"] in opening and "disease pressure is not known" in opening
    assert rest.count("drawn-estimate") == len(response.context["found"].ranked) and rest.index("As a table") < rest.index(reverse("map"))


def test_a_model_is_fitted_again_only_when_its_records_change(client, monkeypatch):
    fits = []
    fit = model_answer.lineage_fit
    monkeypatch.setattr(model_answer, "lineage_fit", lambda cells, say: fits.append(cells) or fit(cells, say))
    lead = factories.person("lead")
    client.force_login(lead)
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    lots = [factories.stock_lot(actor=lead, plants=900) for _ in range(5)]
    for ease in (0, 3, 6):
        planting = planting_on(factories.site())
        for lot, alive in zip(lots, (18, 15, 12, 8, 4), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 20, 4, role="check")
    first, again = (client.get(reverse("survival_lineages"), {"level": "lot"}).context for _ in range(2))
    assert len(fits) == 1 and again["found"] == first["found"] and again["table"].model_made == first["table"].model_made
    counted(planting, lots[0], 30, 30)
    client.get(reverse("survival_lineages"), {"level": "lot"})
    assert len(fits) == 2
