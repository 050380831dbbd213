"""Today: what was entered late is listed as long as what came in time, whatever its day. The clock of the tests is set by hand."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from plantings.models import CensusRound
from plantings.selectors.census.records import LATE_SHOWN_DAYS, late_rounds
from plantings.selectors.overview.today import today_lines
from plantings.services.census.plot_counts import plot_counts_record
from plantings.services.trees import counted_plot_add
from registry.models import AuditEntry
from registry.services.identity.questions import evidence_enter, question_raise, question_settle
from registry.services.orchard.tree_status import tree_status_set
from tests import factories

pytestmark = pytest.mark.django_db
ON = datetime.date(2026, 11, 25)
CLOSED = datetime.date(2024, 9, 30)


@pytest.fixture
def clock(monkeypatch):
    """Sets the day on which everything after it is entered."""

    def be(day):
        monkeypatch.setattr(timezone, "now", lambda: datetime.datetime.combine(day, datetime.time(12), datetime.UTC))

    be(ON)
    return be


def days(number):
    return ON + datetime.timedelta(days=number)


def said(person, words, on=ON):
    return [line.text for line in today_lines(person, on) if words in line.text]


def old_round(label="2024"):
    planting = factories.planting(code=f"PL-{label}", site=factories.site(name=f"Falls Road {label}"))
    trees = factories.trees(planting, factories.stock_lot(), 3)
    return factories.census_round(planting, 5, label=label, opens_on=datetime.date(2024, 9, 1), closes_on=CLOSED), trees


def test_flowers_of_an_old_round_are_listed_from_the_day_they_came_in(clock):
    clock(CLOSED)
    lead = factories.person("lead")
    (census_round, trees), (quiet, others) = old_round(), old_round("2023")
    factories.observe(quiet, {others[0]: "A"}, actor=lead, flowering="male")
    assert said(lead, "flower") == []
    clock(ON)
    factories.observe(census_round, {trees[0]: "A"}, actor=lead, flowering="male")
    factories.observe(quiet, {others[1]: "A"}, actor=lead)  # nothing new about flowers there
    [text] = said(lead, "flower")
    assert text.startswith("1 tree seen in flower or fruit at Falls Road 2024 (PL-2024), first on 1 Sep 2024.")
    assert said(lead, "flower", days(LATE_SHOWN_DAYS)) == [text] and said(lead, "flower", days(LATE_SHOWN_DAYS + 1)) == []


def test_records_that_do_not_agree_are_listed_when_one_comes_late(clock):
    clock(CLOSED)
    lead = factories.person("lead")
    (census_round, trees), (quiet, others) = old_round(), old_round("2023")
    for status in "AD":
        factories.observe(quiet, {others[0]: status}, actor=lead)
    factories.observe(census_round, {trees[0]: "A"}, actor=lead)
    assert said(lead, "do not agree") == []
    clock(ON)
    factories.observe(census_round, {trees[0]: "D"}, actor=lead)
    assert said(lead, "do not agree") == ["1 tree has two records of 2024 in PL-2024 that do not agree"]
    assert said(lead, "do not agree", days(LATE_SHOWN_DAYS + 1)) == []


def test_counts_that_do_not_agree_are_listed_when_one_comes_late(clock):
    lead, (census_round, _trees) = factories.person("lead"), old_round()
    lot = factories.seed_lot(seeds=100, actor=lead)
    plot = counted_plot_add(actor=lead, planting=census_round.planting, code="A", lot=lot, planted_count=40)
    for alive in (30, 12):
        counts = [{"plot": plot, "alive": alive}]
        plot_counts_record(actor=lead, census_round=census_round, counts=counts, observed_on=census_round.opens_on)
    assert said(lead, "do not agree") == ["1 plot has two records of 2024 in PL-2024 that do not agree"]


def test_an_entry_names_the_rounds_of_its_records_only(clock):
    lead, (census_round, trees) = factories.person("lead"), old_round()
    factories.census_round(census_round.planting, 6, label="2025", opens_on=datetime.date(2025, 9, 1), closes_on=datetime.date(2025, 9, 30))
    factories.observe(census_round, {trees[0]: "A"}, actor=lead)
    entry = AuditEntry.objects.get(verb="planting.census_recorded")
    assert entry.changes["rounds"] == [None, ["2024"]]
    assert late_rounds(None, ON, ON) == {census_round.pk} == late_rounds({census_round.planting_id}, ON, ON)
    assert late_rounds({census_round.planting_id + 1}, ON, ON) == late_rounds(None, ON, CLOSED) == set()


def test_more_late_rounds_cost_no_more_queries(clock):
    lead, counts = factories.person("lead"), []
    for number in (1, 4):
        for label in range(number):
            census_round, trees = old_round(f"{number}{label}")
            factories.observe(census_round, {trees[0]: "A"}, actor=lead, flowering="male")
        with CaptureQueriesContext(connection) as captured:
            assert late_rounds(None, ON, ON) == set(CensusRound.objects.values_list("pk", flat=True))
        counts.append(len(captured) - 1)
    assert counts == [2, 2]


def test_a_tree_rogued_long_ago_is_listed_from_the_day_somebody_entered_it(clock):
    lead, tree = factories.person("lead"), factories.pedigree_tree(code="KW-1")
    tree_status_set(actor=lead, tree=tree, status="rogued", on=CLOSED, reason="cut by the owner")
    text = "1 tree was rogued without a decision of two people: KW-1"
    assert said(lead, "rogued without") == [text] == said(lead, "rogued without", days(LATE_SHOWN_DAYS))
    assert said(lead, "rogued without", days(LATE_SHOWN_DAYS + 1)) == []


def test_evidence_entered_after_the_settlement_is_listed_whatever_its_day(clock):
    lead, tree = factories.person("lead"), factories.pedigree_tree(code="KW-1")
    question = question_raise(actor=lead, about=tree, raised_on=days(-9), reason="another father")
    question_settle(actor=lead, question=question, outcome="confirmed", text="sample was swapped", on=ON)
    assert said(lead, "contradicts") == []
    clock(days(1))
    late = {"kind": "genotype", "outcome": "contradicts", "on": days(-160), "by": "A", "text": "report of June"}
    evidence_enter(actor=lead, about=tree, **late)
    assert said(lead, "contradicts", days(900)) == [
        "Evidence of 18 Jun 2026, entered on 26 Nov 2026, contradicts the identity of pedigree tree KW-1, and no question is open"
    ]
    clock(days(2))
    again = question_raise(actor=lead, about=tree, raised_on=days(2), reason="the report of June")
    question_settle(actor=lead, question=again, outcome="confirmed", text="the same sample", on=days(2))
    assert said(lead, "contradicts", days(3)) == []
