"""The calendar of a month: what is in it, and what it costs."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plantings.selectors.overview.calendar import calendar_entries
from registry.models import Lot, ReportingClock, Requirement
from tests import factories

pytestmark = pytest.mark.django_db
DAY = datetime.date
ON = DAY(2026, 10, 12)
OCTOBER = (DAY(2026, 10, 1), DAY(2026, 10, 31))


def titles(user, first=OCTOBER[0], last=OCTOBER[1], on=ON):
    return [entry.title for entry in calendar_entries(user, first, last, on)]


@pytest.fixture
def october():
    """One of everything that falls in October 2026."""
    lead = factories.person("lead")
    volunteer = factories.person("volunteer")
    factories.duty(code="D-9", title="Flower report", first_due_on=DAY(2026, 10, 1), responsible=volunteer)
    factories.authorization(
        actor=lead,
        code="P-1",
        title="Permit",
        state="in_force",
        starts_on=DAY(2020, 1, 1),
        ends_on=DAY(2026, 10, 31),
        review_by=DAY(2026, 10, 5),
    )
    Requirement.objects.create(code="R-1", edition="2026", title="Rule", source="invented", review_by=DAY(2026, 10, 7))
    lot = factories.seed_lot(actor=lead, code="S-1", seeds=40)
    Lot.objects.filter(pk=lot.pk).update(use_by=DAY(2026, 10, 20))
    planting = factories.planting(code="W-1", site=factories.site(name="Mill wood"), crew=[volunteer])
    factories.census_round(planting, label="2026 autumn", opens_on=DAY(2026, 9, 20), closes_on=DAY(2026, 10, 15))
    return lead, volunteer


def test_a_month_holds_everything_that_falls_in_it(october):
    lead, volunteer = october
    assert titles(lead) == [
        "Census 2026 autumn: Mill wood (W-1)", "Flower report (D-9)", "Permit (P-1) to review", "Rule to review: Rule (R-1)",
        "Use-by day of lot S-1", "Permit (P-1) ends",
    ]  # fmt: skip
    assert titles(volunteer) == ["Census 2026 autumn: Mill wood (W-1)", "Flower report (D-9)"]
    assert titles(factories.person("volunteer")) == []
    assert titles(lead, DAY(2026, 11, 1), DAY(2026, 11, 30)) == []


def test_a_window_is_shown_where_it_opens_and_where_it_closes(client, october):
    lead, _volunteer = october
    client.force_login(lead)

    def days(month):
        page = client.get(reverse("calendar"), {"month": month})
        return {
            day.on: [(entry["what"], entry["title"].split(" ")[0]) for entry in day.entries] for day in page.context["days"] if day.entries
        }

    assert days("2026-09") == {DAY(2026, 9, 20): [("Census, open until 15 Oct 2026", "Census")]}
    assert days("2026-10")[DAY(2026, 10, 15)] == [("Census, closes", "Census")]
    assert days("2026-10")[DAY(2026, 10, 31)] == [("Paper", "Permit")]
    factories.census_round(factories.planting(), opens_on=DAY(2027, 1, 20), closes_on=DAY(2027, 4, 2))
    assert days("2027-02") == {DAY(2027, 2, 1): [("Census, open since 20 Jan 2027", "Census")]}


@pytest.mark.parametrize(
    ("month", "status"), [("2024-02", 200), ("1900-01", 200), ("2200-12", 200), ("2026-13", 404), ("x", 404), ("1899-12", 404)]
)
def test_months_that_are_none_are_not_found(client, month, status):
    client.force_login(factories.person("lead"))
    assert client.get(reverse("calendar"), {"month": month}).status_code == status


def test_a_leap_february_has_29_days_and_leads_to_its_neighbours(client):
    client.force_login(factories.person("lead"))
    page = client.get(reverse("calendar"), {"month": "2024-02"})
    assert sum(day.is_part for day in page.context["days"]) == 29
    assert page.context["weekdays"][::6] == ["Monday", "Sunday"]
    assert (page.context["before"], page.context["after"]) == ("?month=2024-01", "?month=2024-03")


def test_the_calendar_costs_the_same_queries_for_few_and_many(client, october):
    lead, _volunteer = october
    client.force_login(lead)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as captured:
            page = client.get(reverse("calendar"), {"month": "2026-10"})
        counts.append((len(captured), page.context["count"]))
        for number in range(6):
            factories.duty(first_due_on=DAY(2026, 10, 3 + number), authorization=factories.authorization(ends_on=DAY(2026, 10, 9)))
            factories.census_round(factories.planting(), opens_on=DAY(2026, 10, 1), closes_on=DAY(2026, 10, 2))
    assert counts[0][0] == counts[1][0] and [count for _queries, count in counts] == [6, 6 + 6 * 2]


def test_an_incident_is_on_the_page_of_its_month_for_who_may_see_incidents():
    lead = factories.person("lead")
    paper = factories.authorization(code="P-1")
    ReportingClock.objects.create(authorization=paper, title="report", tell="Office", amount=2, unit="days")
    factories.incident(actor=lead, code="IN-1", papers=[paper], found_at=datetime.datetime(2026, 10, 8, 15, 0, tzinfo=datetime.UTC))
    assert titles(lead) == ["Incident IN-1: report, tell Office"]
    [entry] = calendar_entries(lead, *OCTOBER, ON)
    assert (entry.first, entry.is_late, entry.mine) == (DAY(2026, 10, 10), True, True)
    assert titles(factories.person("volunteer")) == []
