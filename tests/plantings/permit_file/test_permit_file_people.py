"""Duties, incidents and people in the permit file, who may open it, and what it costs."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.permit_file.year import year_report
from registry.models import ReportingClock
from registry.services.duties.duties import duty_done_correct
from registry.services.duties.incidents import incident_notice_enter
from registry.services.movements.shipments import shipment_dispatch
from registry.services.permits.authorizations import document_add
from tests import factories
from tests.people import everyone
from tests.plantings.permit_file.permit_scene import file_of, rows_of, with_duties

pytestmark = pytest.mark.django_db


def test_duties_are_listed_with_status_and_evidence(client, scene):
    duty, _incident = with_duties(scene)
    client.force_login(scene.lead)
    rows = rows_of(client, scene.paper, "duties")
    assert [(row[2].year, row[3], row[6]) for row in rows[:2]] == [
        (2019, "done on time", "letter 1"),
        (2020, "done late by 5 days", "letter 2"),
    ]
    assert rows[2][0] == duty.code and rows[2][2].year == 2021 and rows[2][3].startswith("overdue by ")


def test_a_clock_of_another_paper_is_not_counted_here(client, scene):
    _duty, incident = with_duties(scene)
    other = factories.authorization(actor=scene.lead)
    incident.authorizations.add(other)
    ReportingClock.objects.create(authorization=other, title="Call", tell="Other office", amount=1, unit="hours")
    client.force_login(scene.lead)
    [row] = rows_of(client, scene.paper, "clocks")
    assert row[1] == "Written report" and row[-1] == "told 2 hours late"


def test_corrected_notices_and_evidence_stay_in_the_file(client, scene):
    duty, incident = with_duties(scene)
    notice = incident.notices.get()
    incident_notice_enter(
        actor=scene.lead, incident=incident, told_at=notice.told_at, told_whom="Head office", how="mail", told_by="A", supersedes=notice,
        reason="wrong office", content=b"%PDF-1.7 mail", filename="mail.pdf",
    )  # fmt: skip
    first = duty.done.get(due_on=factories.day(2019, 12, 31))
    values = {"due_on": first.due_on, "done_on": first.done_on, "by": "B"}
    duty_done_correct(actor=scene.lead, record=first, evidence="letter 1 in full", reason="a page was missing", **values)
    client.force_login(scene.lead)
    assert [(row[2], row[-1]) for row in rows_of(client, scene.paper, "notices")] == [
        ("Office", "by a later record: wrong office"), ("Head office", ""),
    ]  # fmt: skip
    assert rows_of(client, scene.paper, "duties")[0][6] == "letter 1 in full"
    assert {row[3] for row in rows_of(client, scene.paper, "documents")} == {"letter.pdf", "mail.pdf"}


def test_the_file_lists_holder_actors_and_who_has_left(client, scene):
    crew = factories.person("volunteer", first_name="Tom", last_name="Gone", left_on=factories.day(2021))
    scene.planting.crew.add(crew)
    client.force_login(scene.lead)
    rows = rows_of(client, scene.paper, "people")
    assert rows[0][:2] == ["A. Holder", "holder"]
    assert ["Tom Gone", "crew of a planting", "Volunteer (person)", factories.day(2021)] in [row[:4] for row in rows]
    [acted] = [row for row in rows if row[0] == str(scene.lead)]
    assert acted[1] == "entered records" and acted[4] == file_of(scene.paper).history_count


def test_the_page_says_once_what_the_file_is(client, gated):
    client.force_login(gated.lead)
    page = client.get(reverse("authorization_file", args=[gated.paper.pk])).content.decode()
    assert page.count("it does not say what is allowed") == 1


def test_what_does_not_add_up_comes_first(client, gated):
    type(gated.paper).objects.filter(pk=gated.paper.pk).update(drawn=29)
    client.force_login(gated.lead)
    lines = [line.text for line in client.get(reverse("authorization_file", args=[gated.paper.pk])).context["due"]]
    assert lines[0] == "Recorded as drawn: 29; its draws add up to 30. Run the command verify."
    assert "Shipments that left and have no receipt: 1." in lines and "Seeds and plants shipped but missing from the receipts: 2." in lines
    other = factories.authorization(actor=gated.lead)
    assert [line.text for line in client.get(reverse("authorization_file", args=[other.pk])).context["due"]] == ["It has no document."]


# -- who may, and how many queries ---------------------------------------------------------------------------


def test_the_year_form_leads_to_the_report_of_that_year(client, scene):
    client.force_login(scene.lead)
    url = reverse("authorization_file", args=[scene.paper.pk])
    assert client.get(url, {"year": "2020"}).url == reverse("authorization_year", args=[scene.paper.pk, 2020])
    response = client.get(url, {"year": "20"})
    assert response.status_code == 200 and response.context["years"].errors
    assert client.get(reverse("authorization_year", args=[scene.paper.pk, 9999])).status_code == 404


def test_staff_and_auditors_see_and_make_the_file_and_nobody_else(client, scene):
    url, year = (
        reverse(name, args=[scene.paper.pk, *more]) for name, more in (("authorization_file", ()), ("authorization_year", (2020,)))
    )
    for who, person in everyone().items():
        client.force_login(person)
        may = who in {"lead", "coordinator", "auditor"}
        assert client.get(url).status_code == client.get(year).status_code == (200 if may else 403), who
        assert client.post(url, {"page": "letter"}).status_code == (200 if may else 403), who
        # a report goes out in the programme's name: an auditor reads it and does not make it
        assert client.post(year, {"page": "letter"}).status_code == (200 if who in {"lead", "coordinator"} else 403), who
    client.force_login(scene.lead)
    assert url in client.get(reverse("authorization_detail", args=[scene.paper.pk])).content.decode()


def queries(work):
    with CaptureQueriesContext(connection) as captured:
        work()
    return len(captured)


def test_queries_do_not_grow_with_trees_and_shipments(gated):
    gated.census()
    with_duties(gated)
    counted = [queries(lambda: file_of(gated.paper)), queries(lambda: year_report(gated.paper, 2020, timezone.now()))]
    for number in range(2):
        more = gated.shipment(f"MORE-{number}", [(gated.native, 5, (5, 0, 0))])
        more.authorizations.add(gated.paper)
        planting = factories.planting(site=gated.planting.site, planted_on=factories.day(2019, 4, 11), supply="shipment")
        trees = factories.trees(planting, gated.native, 5, actor=gated.lead)
        factories.observe(factories.census_round(planting, 2), dict.fromkeys(trees, "D"), actor=gated.lead, cause="deer")
        factories.duty(actor=gated.lead, authorization=gated.paper)
        factories.incident(actor=gated.lead, papers=[gated.paper])
        sent = factories.shipment(actor=gated.lead, receiver=gated.owner, receiving_person="R", lots=[(gated.lot, "bareroot", 2)])
        reason = "The report that is late goes out tomorrow."
        shipment_dispatch(actor=gated.lead, shipment=sent, on=timezone.localdate(), override_reason=reason)
        document_add(actor=gated.lead, paper=gated.paper, content=f"%PDF-1.7 {number}".encode(), filename="p.pdf", title="Letter")
    assert counted == [queries(lambda: file_of(gated.paper)), queries(lambda: year_report(gated.paper, 2020, timezone.now()))]
