"""The screens of duties and of what a paper asks for."""

import datetime

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from registry.models import Duty, ReportingClock
from registry.services.duties.duties import duty_done_enter
from registry.views.duties.clocks import AuthorizationDutiesView
from registry.views.shared.sections import draw_sections, drawn
from tests import factories

pytestmark = pytest.mark.django_db


def ago(days):
    return timezone.localdate() - datetime.timedelta(days=days)


FORM = {
    "kind": "flowers", "title": "Take off flowers", "recurrence": "before_season", "first_due_on": "2026-01-01", "every": "1",
    "season_month": "6", "season_day": "15", "days_before": "14", "lead_days": "30",
}  # fmt: skip


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def shown(client, **query):
    """Codes in the order of the list."""
    page = client.get(reverse("duty_list"), query)
    return [row.cells[0][0] for row in page.context["rows"]]


def test_a_duty_is_entered_and_its_page_says_when_and_who(client, lead):
    volunteer, paper = factories.person("volunteer", first_name="Vera", last_name="Voss"), factories.authorization(code="PERMIT-1")
    assert "PERMIT-1" in client.get(reverse("duty_add"), {"paper": paper.pk}).content.decode()
    values = FORM | {"authorization": "permit-1", "responsible": volunteer.pk, "second": lead.pk, "evidence_wanted": "a count"}
    page = client.post(reverse("duty_add"), values, follow=True).content.decode()
    for words in ("every year, 14 days before 15 Jun", "Vera Voss", "PERMIT-1", "the second person from 7 days overdue", "a count", "D-1"):
        assert words in page
    record = Duty.objects.get()
    page = client.post(
        reverse("duty_edit", args=[record.pk]), values | {"code": "D-1", "title": "Take off all flowers", "reason": "clearer"}, follow=True
    )
    assert "Take off all flowers" in page.content.decode()


@pytest.mark.parametrize(
    ("typed", "field", "words"),
    [
        ({"every": "0"}, "every", "Give 1 or more: every 1 year, every 6 months."),
        ({"first_due_on": "1026-01-01"}, "first_due_on", "Give a day from 1 Jan 1950 to 31 Dec"),
        ({"first_due_on": "3026-01-01"}, "first_due_on", "Give a day from 1 Jan 1950 to 31 Dec"),
    ],
)
def test_an_impossible_recurrence_is_refused_at_its_box(client, lead, typed, field, words):
    form = client.post(reverse("duty_add"), FORM | {"recurrence": "years"} | typed).context["form"]
    assert list(form.errors) == [field] and form.errors[field][0].startswith(words)
    assert not Duty.objects.exists()


def test_a_wrong_season_is_refused_at_its_box(client, lead):
    page = client.post(reverse("duty_add"), FORM | {"season_day": "31"}).content.decode()
    assert "Month 6, day 31 is not a day of a year." in page and "Take off flowers" in page
    assert not Duty.objects.exists()


def test_the_list_filters_by_person_status_days_and_paper(client, lead):
    paper = factories.authorization(code="PERMIT-9")
    factories.duty(code="LATE", first_due_on=ago(3), responsible=lead)
    factories.duty(code="SOON", first_due_on=ago(-10), authorization=paper)
    factories.duty(code="FAR", first_due_on=ago(-100), second=lead)
    factories.duty(code="DONE", first_due_on=ago(50))
    duty_done_enter(actor=lead, duty=Duty.objects.get(code="DONE"), due_on=ago(50), done_on=ago(50), by="A", evidence="x")
    Duty.objects.filter(pk=factories.duty(code="SHUT", first_due_on=ago(9)).pk).update(closed_on=ago(1), closed_reason="released")
    assert shown(client) == ["LATE", "SOON", "FAR", "DONE"]
    assert shown(client, status="late") == ["LATE"]
    assert shown(client, status="due") == ["LATE", "SOON"]
    assert shown(client, status="closed") == ["SHUT"]
    assert len(shown(client, status="all")) == 5
    assert shown(client, whose="mine") == ["LATE", "FAR"]
    assert shown(client, within="10") == ["LATE", "SOON"]
    assert shown(client, within="9") == ["LATE"]
    assert shown(client, paper="PERMIT-9") == ["SOON"]
    assert b"overdue by 3 days" in client.get(reverse("duty_list")).content


def test_the_list_is_downloaded_as_shown(client, lead):
    factories.duty(code="LATE", first_due_on=ago(3), title="Yearly report")
    assert b"Yearly report" in client.get(reverse("duty_list"), {"download": "csv", "status": "late"}).content


def test_marking_done_with_a_file_and_correcting_it(client, lead):
    record = factories.duty(recurrence="years", first_due_on=ago(400), evidence_wanted="stamped copy")
    url = reverse("duty_done", args=[record.pk])
    form = client.get(url, {"due": ago(400).isoformat()}).content.decode()
    assert "Wanted: stamped copy" in form and f'value="{ago(400).isoformat()}" selected' in form
    values = {"due_on": ago(400).isoformat(), "done_on": ago(395).isoformat(), "by": "A. Person", "evidence": "letter 12"}
    refused = client.post(url, values | {"file": SimpleUploadedFile("copy.pdf", b"no pdf at all")}).content.decode()
    assert "ends in .pdf, but its content is something else" in refused and "letter 12" in refused
    page = client.post(url, values | {"file": SimpleUploadedFile("copy.pdf", b"%PDF-1.7 copy")}, follow=True).content.decode()
    assert "done late by 5 days" in page and "letter 12" in page and "copy.pdf" in page
    stored = record.done.get()
    assert client.get(reverse("duty_file", args=[stored.pk])).content == b"%PDF-1.7 copy"
    correct = reverse("duty_done_correct", args=[stored.pk])
    page = client.post(correct, values | {"done_on": ago(400).isoformat(), "reason": "misread"}, follow=True).content.decode()
    assert "done on time" in page and "misread" in page
    assert page.count("/correct/") == 1  # of the two records only the newer one
    again = client.post(correct, values | {"reason": "again"}).content.decode()
    assert "Somebody has corrected this record already" in again


def test_closing_names_what_was_not_done(client, lead):
    record = factories.duty(first_due_on=ago(20))
    url = reverse("duty_close", args=[record.pk])
    caution = client.get(url).content.decode()
    assert "Check with the local authority" in caution and f"Not done: what was due on {ago(20):%-d %b %Y}" in caution
    page = client.post(url, {"closed_on": ago(0).isoformat(), "reason": "released by letter"}, follow=True).content.decode()
    assert "not done when it was closed" in page and "released by letter" in page


def test_the_page_says_that_a_duty_outlives_its_paper(client, lead):
    paper = factories.authorization(state="expired", ends_on=ago(5))
    record = factories.duty(authorization=paper, first_due_on=ago(-60))
    assert (
        "Its paper has ended. The duty continues until it is closed."
        in client.get(reverse("duty_detail", args=[record.pk])).content.decode()
    )


def test_a_volunteer_sees_and_does_their_own_duties_only(client):
    volunteer = factories.person("volunteer")
    own, other = factories.duty(responsible=volunteer, first_due_on=ago(2)), factories.duty(first_due_on=ago(2))
    client.force_login(volunteer)
    assert shown(client) == [own.code]
    assert client.get(reverse("duty_detail", args=[other.pk])).status_code == 404
    assert client.get(reverse("duty_edit", args=[own.pk])).status_code == 403
    values = {"due_on": ago(2).isoformat(), "done_on": ago(0).isoformat(), "by": "V", "evidence": "photo"}
    assert client.post(reverse("duty_done", args=[other.pk]), values).status_code == 404
    page = client.post(reverse("duty_done", args=[own.pk]), values, follow=True).content.decode()
    assert "done late by 2 days" in page


def test_the_duties_page_of_a_paper_and_its_clocks(client, lead):
    paper = factories.authorization(code="PERMIT-2")
    factories.duty(authorization=paper, title="Yearly report", first_due_on=ago(1))
    factories.incident(papers=[paper], title="Stolen tags")
    add = reverse("reportingclock_add", args=[paper.pk])
    page = client.post(add, {"title": "first call", "tell": "Office", "amount": "0", "unit": "hours"}, follow=True).content.decode()
    for words in ("Yearly report", "Stolen tags", "first call", "immediately", "Only closing one, with a reason, ends it"):
        assert words in page
    again = client.post(add, {"title": "first call", "tell": "Office", "amount": "1", "unit": "hours"}).content.decode()
    assert "already exists" in again
    clock = ReportingClock.objects.get()
    edit = reverse("reportingclock_edit", args=[clock.pk])
    client.post(edit, {"title": "first call", "tell": "Office", "amount": "2", "unit": "hours", "reason": "misread"})
    clock.refresh_from_db()
    assert clock.amount == 2


def test_duties_of_a_paper_need_the_same_queries_for_many(client, lead):
    paper, counts = factories.authorization(), []
    for _ in range(2):
        for _ in range(4):
            factories.duty(authorization=paper, first_due_on=ago(1))
        with CaptureQueriesContext(connection) as captured:
            page = client.get(reverse("authorization_duties", args=[paper.pk]))
        counts.append((len(captured), len(page.context["due"])))
    assert counts[0][0] == counts[1][0] and [due for _queries, due in counts] == [4, 8]


def test_without_the_right_to_duties_a_paper_shows_none(rf):
    paper = factories.authorization()
    factories.duty(authorization=paper, first_due_on=ago(1))
    page = AuthorizationDutiesView()
    page.request, page.object = rf.get("/"), paper
    page.request.user = factories.person("landowner")
    assert (page.duty_lines, drawn(page, page.actions), draw_sections(page, page.sections)) == ([], [], ([], []))
