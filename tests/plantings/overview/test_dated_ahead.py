"""What was entered while the clock of the server was ahead: Today of a lead counts it, and a page lists it until it is corrected."""

import datetime

import pytest
from django.db import models
from django.urls import reverse
from django.utils import timezone

from plantings.models import Observation
from plantings.selectors.overview.dated_ahead import DATED
from plantings.services.census.observations import observation_correct
from registry.models.shared.part_date_field import PartDateField
from registry.selectors.audit.book_tables import book_tables
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from registry.views.shared.addresses import route_of
from tests import factories

pytestmark = pytest.mark.django_db
WORDS = "a day that has not come"

# columns with a day that may be ahead, or that only repeat or bound another
MAY_BE_AHEAD = {
    "Lot.use_by": "shelf life", "Shipment.planned_on": "a plan", "Shipment.arrives_on": "a plan",
    "CensusRound.opens_on": "a window", "CensusRound.closes_on": "a window", "RoundLink.ends_on": "an end", "PrivateLink.ends_on": "an end",
    "AccessToken.ends_on": "an end", "DecisionLink.ends_on": "an end", "Authorization.starts_on": "a paper", "Authorization.ends_on": "a paper",
    "Authorization.review_by": "a plan", "AuthorizationVersion.from_on": "a paper", "AuthorizationVersion.starts_on": "a paper",
    "AuthorizationVersion.ends_on": "a paper", "AuthorizationStateRecord.on": "a paper may be in force from a day to come",
    "Requirement.from_on": "a rule", "Requirement.until_on": "a rule", "Requirement.review_by": "a plan", "RuleVerification.review_by": "a plan",
    "Determination.asked_for": "people ask the gate about a day to come", 
    "CautionText.in_use_from": "a plan", "Duty.first_due_on": "due", "Duty.until_on": "due", "DutyDone.due_on": "due",
    "Person.left_on": "somebody may leave later", "PaperDocument.dated": "the date on a paper of others",
    "AccessToken.used_on": "set by the program", "ProgrammeSetting.set_on": "set by the program", "SecondDraw.drawn_on": "set by the program",
    "AuthorizationDraw.on": "the day of its shipment", "PedigreeTree.status_on": "the day of its last step",
    "PageKeying.observed_on": "the day of its census records", "Rating.inoculated_on": "before the day of its rating",
    "Treatment.ended_on": "a bath or a cold period under way may have its end ahead", "Authorization.verified_on": "of the paper",
    "Requirement.verified_on": "the day of its last verification", "SpeciesHandbook.verified_on": "of a printed page",
    "Partner.consent_on": "typed as the partner gave it", "PollenPool.flowered_on": "typed before flowering too",
    "Duty.closed_on": "what was closed is not opened again", "Incident.closed_on": "what was closed is not opened again",
    "IdentityQuestion.settled_on": "what was settled is not opened again", "LandNotice.handled_on": "set by the program",
}  # fmt: skip


@pytest.fixture
def lead():
    return factories.person("lead")


@pytest.fixture
def ahead(lead, monkeypatch):
    """A ledger entry, a census record and a planned planting of 2031, entered while the clock read 2031; then the clock is right again."""
    real, wrong = timezone.now, datetime.datetime(2031, 9, 20, 12, tzinfo=datetime.UTC)
    lot = factories.seed_lot(actor=lead, seeds=100)
    planting = factories.planting(code="P", supply="before_records")
    [tree] = factories.trees(planting, factories.stock_lot(actor=lead), 1)
    census = factories.census_round(planting)
    monkeypatch.setattr(timezone, "now", lambda: wrong)
    entry = ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=4, on=wrong.date(), reason="mouldy")
    factories.observe(census, {tree: "A"}, actor=lead, observed_on=wrong.date())
    factories.planting(code="Q", state="planned", planted_on=datetime.date(2032, 4, 1))
    monkeypatch.setattr(timezone, "now", real)
    return entry, Observation.objects.get()


def said(client, person):
    client.force_login(person)
    return [line for line in client.get("/").context["lines"] if WORDS in line.text]


def test_today_counts_what_is_dated_ahead_until_it_is_corrected(client, lead, ahead):
    entry, record = ahead
    [line] = said(client, lead)
    assert line.text.startswith("2 records carry a day that has not come: observations 1, ledger entries 1. ")
    page = client.get(line.url).content.decode()
    assert line.url == reverse("today_ahead") and "20 Sep 2031" in page and "2032" not in page
    assert reverse("lot_detail", args=[entry.lot_id]) in page and reverse("tree_detail", args=[record.tree_id]) in page
    ledger_reverse(actor=lead, entry=entry, reason="the clock was ahead")
    assert said(client, lead)[0].text.startswith("1 record carries a day that has not come: observations 1. ")
    observation_correct(actor=lead, observation=record, observed_on=factories.day(2020), reason="the clock was ahead")
    assert said(client, lead) == [] and "No record of what has happened" in client.get(reverse("today_ahead")).content.decode()


def test_only_a_lead_is_told_of_records_dated_ahead(client, ahead):
    for role in ("coordinator", "volunteer"):
        assert said(client, factories.person(role)) == []


def test_plans_and_ends_ahead_are_not_listed(client, lead):
    factories.planting(code="Q", state="planned", planted_on=timezone.localdate() + datetime.timedelta(days=200))
    factories.seed_lot(actor=lead, seeds=5, use_by=timezone.localdate() + datetime.timedelta(days=200))
    assert said(client, lead) == []


def test_every_day_of_a_record_is_looked_at_or_may_be_ahead():
    columns = {
        f"{table.model.__name__}.{field.name}"
        for table in book_tables()
        for field in table.model._meta.fields
        if isinstance(field, (models.DateField, PartDateField)) and not isinstance(field, models.DateTimeField)
    }
    looked_at = {f"{model.__name__}.{dated.column}" for model, dated in DATED.items()}
    assert looked_at <= columns
    assert sorted(columns - looked_at - MAY_BE_AHEAD.keys()) == []


@pytest.mark.parametrize("model", DATED)
def test_every_record_dated_ahead_leads_to_a_page(model):
    for path in DATED[model].shown_with or ("",):
        shown_with = model
        for name in filter(None, path.split("__")):
            shown_with = shown_with._meta.get_field(name).related_model
        assert reverse(f"{route_of(shown_with())}_detail", args=[1])
