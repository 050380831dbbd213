"""Treatments and storage of seed, on screen."""

import datetime

import pytest
from django.urls import reverse

from registry.models import StorageRecord, Treatment
from tests import factories
from tests.registry.lots.seed_page_help import errors, fresh, messages, part, send

pytestmark = pytest.mark.django_db


# -- treatments and storage ------------------------------------------------------------------


def test_a_bath_too_hot_gives_a_warning_and_fahrenheit_is_refused(client, manager):
    # over 50 C kills the embryo: common practice, no source
    lot = factories.seed_lot(actor=manager, seeds=500)
    factories.handbook_row(binomial=lot.taxon.name, **factories.BATH)
    data = {"started_on": "2019-10-04", "temperature_c": "52", "minutes": "20", "thermometer": "no. 2", "operator": "x"}
    page = send(client, "lot_treat", lot, data, kind="hot_water")
    assert "kills the embryo" in messages(page)
    assert "kills the embryo" in part(page, "treatments")["rows"][0].cells[3][0]
    page = send(client, "lot_treat", lot, data | {"temperature_c": "120"}, kind="hot_water")
    assert "120 °F are 48.9 °C" in errors(page)["temperature_c"][0]
    assert Treatment.objects.count() == 1


@pytest.mark.parametrize(
    ("kind", "words"),
    [("hot_water", "Under 47 °C"), ("surface", "minutes only"), ("pesticide", "the label is the law"), ("other", "Follow the label")],
)
def test_each_dangerous_treatment_shows_its_caution(client, manager, kind, words):
    lot = factories.seed_lot(actor=manager, seeds=5)
    factories.handbook_row(binomial=lot.taxon.name, **factories.BATH)
    assert words in client.get(reverse("lot_treat", args=[lot.pk]), {"kind": kind}).content.decode()


def test_the_bath_and_the_word_for_the_fruit_are_those_of_the_species(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=5)
    treat, pick = reverse("lot_treat", args=[lot.pk]), reverse("lot_pick", args=[lot.pk])
    bath, form = client.get(treat, {"kind": "hot_water"}).content.decode(), client.get(treat).content.decode()
    assert f"states no bath for {lot.taxon.name}" in bath and "weevil" not in bath
    assert 'aria-current="page">cold stratification' in form
    assert "Fruits picked" in client.get(pick).content.decode()
    factories.handbook_row(binomial=lot.taxon.name, fruit="burs", **factories.BATH)
    assert 'aria-current="page">hot water' in client.get(treat).content.decode()
    assert "47 to 50 °C for 20 minutes, against weevils" in client.get(treat).content.decode()
    page = client.get(pick).content.decode()
    assert "Burs picked" in page and "Fruits picked" not in page


def test_a_pesticide_needs_product_and_licence(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=5)
    page = send(client, "lot_treat", lot, {"started_on": "2019-10-04", "operator": "x"}, kind="pesticide")
    assert set(errors(page)) == {"product", "licence"}


def test_a_stratification_in_progress_shows_its_calendar(client, manager):
    # J. cinerea 90 to 120 days cold: Woody Plant Seed Manual, USDA Agric. Handb. 727, Juglans table 5 (as read in a scrape).
    lot = factories.seed_lot(actor=manager, seeds=5, taxon=factories.taxon(name="Juglans cinerea"))
    factories.handbook_row(binomial="Juglans cinerea", cold_days_low=90, cold_days_high=120, cold_temperature="1-5")
    page = send(client, "lot_treat", lot, {"started_on": "2019-12-01", "operator": "x"}, kind="cold")
    calendar = part(page, "calendar")
    assert [cell[0] for cell in calendar["rows"][-1].cells] == ["Sow", datetime.date(2020, 2, 29), datetime.date(2020, 3, 30)]
    assert "not verified against the printed page" in calendar["note"]
    page = send(client, "lot_treat", lot, {"started_on": "2019-12-01", "ended_on": "2019-11-01", "operator": "x"}, kind="cold")
    assert "ends before it starts" in errors(page)["ended_on"][0]


def test_a_look_into_the_store_throws_away_through_the_ledger(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=100, storage_place="shed")
    data = {
        "on": "2019-11-12",
        "by": "x",
        "place": "cold room",
        "temperature_c": "2",
        "feel": "damp",
        "mouldy_percent": "4",
        "discarded": "12",
    }
    page = send(client, "lot_store", lot, data)
    assert (fresh(lot).balance, fresh(lot).storage_place) == (88, "cold room")
    assert part(page, "storage")["rows"][0].cells[6][0] == 12
    page = send(client, "lot_store", lot, data | {"mouldy_percent": "104"})
    assert set(errors(page)) == {"mouldy_percent"}
    page = send(client, "lot_store", lot, data | {"discarded": "89"})
    assert "holds 88 seeds" in errors(page)["discarded"][0]
    assert StorageRecord.objects.count() == 1


def test_the_storage_form_warns_about_seed_that_dies_dry_or_frozen(client, manager):
    lot = factories.seed_lot(actor=manager, seeds=5)
    url = reverse("lot_store", args=[lot.pk])
    assert "no apples or pears" not in client.get(url).content.decode()
    factories.handbook_row(binomial=lot.taxon.name, storage_class="recalcitrant")
    assert "no apples or pears" in client.get(url).content.decode()


def test_the_storage_form_of_a_stock_lot_does_not_ask_for_sprouts(client, manager):
    lot = factories.stock_lot(actor=manager, plants=5)
    assert "sprouted_percent" not in client.get(reverse("lot_store", args=[lot.pk])).context["form"].fields


@pytest.mark.parametrize(
    ("route", "box"), [("lot_pick", "picker"), ("lot_test", "tested_by"), ("lot_treat", "operator"), ("lot_store", "by")]
)
def test_a_form_starts_with_the_name_of_who_fills_it_in(client, manager, route, box):
    lot = factories.seed_lot(actor=manager, seeds=5, on=factories.day(2018, 9))
    assert client.get(reverse(route, args=[lot.pk])).context["form"][box].value() == str(manager)
