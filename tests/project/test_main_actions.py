"""What pages offer first, and once: an action fits the state of the record, and a page does not offer it twice."""

import datetime

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.census.rounds import current_round
from registry.compliance.gate.facts import Question
from registry.selectors.gate.determinations import gate_ask
from registry.services.gate.determinations import determination_store
from registry.services.lots.ledger import ledger_enter
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def page_of(client, route, record):
    return client.get(reverse(route, args=[record.pk]))


def test_a_closed_round_is_offered_only_while_trees_lack_a_record(lead):
    today = timezone.localdate()
    planting = factories.planting()
    trees = factories.trees(planting, count=2)
    last = factories.census_round(planting, opens_on=today - datetime.timedelta(60), closes_on=today - datetime.timedelta(30))
    factories.observe(last, {trees[0]: "A"}, actor=lead)
    assert current_round([last]) == last
    factories.observe(last, {trees[1]: "A"}, actor=lead)
    assert current_round([last]) is None
    last.closes_on = today
    assert current_round([last]) == last


def test_a_lot_with_nothing_on_hand_is_first_read(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=50)
    assert page_of(client, "lot_detail", lot).context["actions"][0][0] == "Sow"
    ledger_enter(actor=lead, lot=lot, kind="destroyed", quantity=50, on=factories.day(2019, 12))
    assert page_of(client, "lot_detail", lot).context["actions"][0][0] == "Pedigree and shares"


def test_a_lot_past_its_use_by_day_is_first_read(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=50)
    lot.use_by = timezone.localdate() - datetime.timedelta(1)
    lot.save(update_fields=["use_by"])
    assert page_of(client, "lot_detail", lot).context["actions"][0][0] == "Pedigree and shares"


def test_no_page_offers_an_action_both_on_top_and_beside_a_section(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=50)
    page = page_of(client, "lot_detail", lot)
    beside = [action for part in page.context["parts"] for action in part.get("actions") or ()]
    offered = [*page.context["actions"], *beside]
    assert "Add a ledger entry" in [label for label, _url in beside]
    assert len(offered) == len(set(offered))


def test_a_stored_answer_does_not_link_to_itself(client, lead):
    answer = determination_store(actor=lead, asked=gate_ask(Question("hold", factories.day(2020))))
    text = page_of(client, "determination_detail", answer).content.decode()
    assert "Stored on" in text and "The stored answer</a>" not in text


def test_form_and_page_of_a_shipment_name_the_receiver_alike(client, lead):
    draft = factories.shipment(actor=lead, lots=[(factories.stock_lot(actor=lead, plants=5), "bareroot", 1)])
    for route in ("shipment_detail", "shipment_edit"):
        assert "Receiving person" in page_of(client, route, draft).content.decode(), route


def test_a_long_list_of_missing_trees_says_once_how_many_there_are(client, lead):
    planting = factories.planting()
    factories.trees(planting, count=101)
    page = page_of(client, "round_detail", factories.census_round(planting))
    [part] = [part for part in page.context["parts"] if part["title"] == "Trees without a record"]
    assert part["note"] == "In walk order. The first 100 of 101."


def test_the_page_of_an_error_names_no_census_on_a_phone():
    assert "phone" not in render_to_string("500.html")
