"""Today: duties, clocks of incidents, papers that end and reviews, one's own first, in a fixed number of queries."""

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from plantings.selectors.overview.today import LINES_OF_ONE_KIND, today_lines
from registry.models import ReportingClock, Requirement
from tests import factories

pytestmark = pytest.mark.django_db
ON = datetime.date(2026, 10, 12)
NOW = datetime.datetime(2026, 10, 12, 13, 0, tzinfo=datetime.UTC)


def lines(user):
    return [(line.mine, line.severity, line.text.split(":")[0]) for line in today_lines(user, ON, NOW)]


def papers_of_all_kinds(responsible=None):
    paper = factories.authorization(code=f"P{factories.number()}", title="Permit", state="in_force", ends_on=datetime.date(2026, 12, 1))
    factories.duty(title="Report", first_due_on=datetime.date(2026, 10, 11), responsible=responsible, authorization=paper)
    ReportingClock.objects.create(authorization=paper, title="call", tell="Office", amount=1, unit="hours")
    factories.incident(papers=[paper], found_at=NOW - datetime.timedelta(minutes=30))
    Requirement.objects.create(code=paper.code, edition="1", title="Rule", source="invented", review_by=ON)
    return paper


def test_ones_own_come_first_then_the_programmes():
    manager = factories.person("manager")
    paper = papers_of_all_kinds(factories.person("volunteer"))
    factories.duty(title="Mine", first_due_on=datetime.date(2026, 10, 30), responsible=manager)
    assert lines(manager) == [
        (True, "soon", "Mine"),
        (False, "late", f"Report ({paper.code})"),
        (False, "soon", "Incident IN-2026-1"),
        (False, "soon", f"Rule {paper.code} Rule"),
        (False, "soon", f"{paper.code} Permit ends soon, within 90 days. Check with the local authority"),
    ]


def test_an_unassigned_duty_is_the_coordinators_then_the_leads():
    factories.duty(title="Report", first_due_on=datetime.date(2026, 10, 11))
    factories.duty(title="Old", first_due_on=datetime.date(2026, 9, 12))
    assert lines(factories.person("coordinator")) == [(True, "late", "Old"), (True, "late", "Report")]
    assert lines(factories.person("lead")) == [(True, "late", "Old"), (False, "late", "Report")]
    assert lines(factories.person("volunteer")) == lines(factories.person("landowner")) == []


def test_the_page_has_headings_for_ones_own_and_the_programmes(client):
    manager = factories.person("manager")
    client.force_login(manager)
    yesterday = timezone.localdate() - datetime.timedelta(days=1)
    factories.duty(title="Of somebody", first_due_on=yesterday, responsible=factories.person("volunteer"))
    assert "<h2>" not in client.get("/").content.decode().split("Of somebody")[0].split("<main")[1].replace("<h2>No records yet", "")
    factories.duty(title="Of mine", first_due_on=yesterday, responsible=manager)
    page = client.get("/").content.decode()
    assert page.index("<h2>Your tasks</h2>") < page.index("Of mine") < page.index("<h2>Other tasks") < page.index("Of somebody")


def test_the_code_box_finds_duties_and_a_trace_leads_to_them(client):
    volunteer = factories.person("volunteer")
    own, other, incident = factories.duty(responsible=volunteer), factories.duty(), factories.incident()
    client.force_login(volunteer)
    assert client.get("/find/", {"q": own.code}).url == f"/duties/{own.pk}/"
    assert client.get("/find/", {"q": other.code}).context["section"]["rows"] == []
    assert client.get("/find/", {"q": incident.code}).context["section"]["rows"] == []
    client.force_login(factories.person("auditor"))
    assert client.get("/find/", {"q": incident.code}).url == f"/incidents/{incident.pk}/"
    [row] = client.get("/trace/", {"q": own.code}).context["section"]["rows"]
    assert f"/duties/{own.pk}/" in str(row.cells)


def test_what_does_not_fit_is_counted():
    volunteer = factories.person("volunteer")
    for _ in range(LINES_OF_ONE_KIND + 3):
        factories.duty(first_due_on=datetime.date(2026, 10, 11), responsible=volunteer)
    found = [line.text for line in today_lines(volunteer, ON, NOW)]
    assert len(found) == LINES_OF_ONE_KIND + 1
    assert "Not shown: 3 duties due, 3 overdue" in found


def test_the_number_of_queries_is_the_same_for_few_and_for_many():
    lead, counts = factories.person("lead"), []
    for _ in range(2):
        for _ in range(3):
            papers_of_all_kinds()
        with CaptureQueriesContext(connection) as captured:
            found = today_lines(lead, ON, NOW)
        counts.append((len(captured), len(found)))
    assert counts[0][0] == counts[1][0] and [count for _queries, count in counts] == [10, 19]


def test_trees_seen_in_flower_are_listed_while_it_matters(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    planting = factories.planting(code="PL-F", site=factories.site(name="Falls Road"))
    trees = factories.trees(planting, factories.stock_lot(), 4)
    opens = ON - datetime.timedelta(days=20)
    round_ = factories.census_round(planting, 5, opens_on=opens, closes_on=ON - datetime.timedelta(days=5))
    factories.observe(round_, dict.fromkeys(trees[:2], "A"), flowering="male")
    factories.observe(round_, {trees[2]: "A"}, flowering="none")
    factories.observe(round_, {trees[3]: "A"})

    def said(person, on=ON):
        return [line.text for line in today_lines(factories.person(person), on) if "flower" in line.text]

    (text,) = said("coordinator")
    assert text.startswith("2 trees seen in flower or fruit at Falls Road (PL-F), first on 22 Sep 2026.")
    assert said("volunteer") == [] and said("lead", ON + datetime.timedelta(days=80)) == []
