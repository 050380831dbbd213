"""Incidents: entered whatever the papers say; their clocks start at the discovery and are shown with the time zone."""

import datetime
from datetime import UTC

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import span_words
from registry.forms.shared.datetime_box import ZonedTimeField
from registry.models import AuditEntry, Incident, IncidentNotice, ReportingClock
from registry.selectors.duties.incidents import clock_status, incident_clocks, limit_words, running_clocks, with_clocks, zoned_words
from registry.services.duties.incidents import incident_close, incident_notice_enter, incident_save
from registry.views.duties.incidents import clocks_words
from tests import factories

pytestmark = pytest.mark.django_db


def utc(*parts):
    return datetime.datetime(*parts, tzinfo=UTC)


FRIDAY = utc(2026, 10, 9, 21, 0)  # 9 Oct 2026, 17:00 in New York


@pytest.fixture(autouse=True)
def new_york(settings):
    settings.TIME_ZONE = "America/New_York"
    with timezone.override("America/New_York"):
        yield


def clock(paper, amount=24, unit="hours", **fields):
    fields = {"title": f"report {factories.number()}", "tell": "Example office"} | fields
    return ReportingClock.objects.create(authorization=paper, amount=amount, unit=unit, **fields)


def states(incident, now=FRIDAY):
    return incident_clocks(with_clocks(Incident.objects.filter(pk=incident.pk)).get(), now)


def tell(incident, told_at, clocks=(), **fields):
    fields = {"told_whom": "Example office, duty officer", "how": "by phone", "told_by": "A. Caller"} | fields
    return incident_notice_enter(actor=factories.person(), incident=incident, told_at=told_at, clocks=clocks, **fields)


@pytest.mark.parametrize("state", ["draft", "applied", "in_force", "suspended", "expired", "closed"])
def test_an_incident_is_entered_whatever_the_paper_says(state):
    paper = factories.authorization(state=state, ends_on=datetime.date(2020, 1, 1))
    clock(paper)
    incident = factories.incident(papers=[paper])
    assert incident.code == "IN-2026-1"
    assert [found.is_running for found in states(incident)] == [True]
    assert AuditEntry.objects.filter(verb="incident.added", record_id=incident.pk).exists()


def test_an_incident_starts_the_clocks_of_all_its_papers():
    """Written report in 24 hours, odd traits within 5 working days: the limits a federal text restored in 2025 names, as the trade knows them."""
    first, second, untouched = (factories.authorization() for _ in range(3))
    hours, working, month = clock(first, 24), clock(second, 5, "working_days"), clock(second, 6, "months")
    clock(untouched, 1)
    found = states(factories.incident(papers=[first, second], found_at=FRIDAY))
    assert [state.clock for state in found] == [hours, working, month]
    assert [limit_words(state) for state in found] == [
        "10 Oct 2026, 17:00 EDT (America/New_York)",
        "the end of 16 Oct 2026 (America/New_York)",
        "the end of 9 Apr 2027 (America/New_York)",
    ]


@pytest.mark.parametrize(
    ("found_at", "last_day"),
    [
        (utc(2026, 10, 10, 3, 59), datetime.date(2026, 10, 10)),  # 23:59 on the 9th in New York
        (utc(2026, 10, 10, 4, 0), datetime.date(2026, 10, 11)),  # midnight: the 10th has begun
    ],
)
def test_a_discovery_counts_from_its_own_local_day(found_at, last_day):
    paper = factories.authorization()
    clock(paper, 1, "days")
    assert states(factories.incident(papers=[paper], found_at=found_at))[0].limit.on == last_day


def test_a_24_hour_clock_runs_through_the_change_to_standard_time():
    # daylight time ends on 1 Nov 2026 at 02:00 in New York: first Sunday in November (15 U.S.C. 260a)
    paper = factories.authorization()
    clock(paper, 24)
    incident = factories.incident(papers=[paper], found_at=utc(2026, 10, 31, 16, 0))  # noon, daylight time
    assert limit_words(states(incident)[0]) == "1 Nov 2026, 11:00 EST (America/New_York)"


def test_an_incident_is_reported_in_time_late_or_not_at_all():
    paper = factories.authorization()
    one, two, three = clock(paper, 1), clock(paper, 2), clock(paper, 0)
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    tell(incident, FRIDAY + datetime.timedelta(hours=1), [one])
    tell(incident, FRIDAY + datetime.timedelta(hours=3, minutes=5), [two])
    standing = {state.clock: clock_status(state) for state in states(incident, FRIDAY + datetime.timedelta(days=2, hours=1))}
    assert standing == {one: "told in time", two: "told 1 hour 5 minutes late", three: "not told, 2 days 1 hour overdue"}
    assert clocks_words(states(incident, FRIDAY + datetime.timedelta(days=2, hours=1))) == "1 of 3 not told, 1 overdue"
    assert clock_status(states(factories.incident(papers=[paper], found_at=FRIDAY), FRIDAY)[0]) == "not told yet"


def test_one_notice_may_answer_several_clocks():
    paper = factories.authorization()
    one, two, three = clock(paper, 1), clock(paper, 2), clock(paper, 3)
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    notices = tell(incident, FRIDAY + datetime.timedelta(minutes=90), [one, two], content=b"%PDF-1.7", filename="mail.pdf")
    tell(incident, FRIDAY + datetime.timedelta(minutes=30), [one])
    # whichever of two was entered first
    tell(incident, FRIDAY + datetime.timedelta(hours=2), [three])
    tell(incident, FRIDAY + datetime.timedelta(hours=4), [three])
    assert [notice.file.filename for notice in notices] == ["mail.pdf", "mail.pdf"]
    assert [clock_status(state) for state in states(incident)] == ["told in time"] * 3


def test_a_notice_needs_a_past_moment_and_a_clock_of_its_papers():
    incident = factories.incident(papers=[factories.authorization()], found_at=FRIDAY)
    foreign = clock(factories.authorization())
    for told_at, clocks, field in (
        (FRIDAY - datetime.timedelta(minutes=1), [], "told_at"),
        (timezone.now() + datetime.timedelta(hours=1), [], "told_at"),
        (FRIDAY, [foreign], "clocks"),
    ):
        with pytest.raises(ValidationError) as refused:
            tell(incident, told_at, clocks)
        assert list(refused.value.message_dict) == [field]
    tell(incident, FRIDAY)
    assert IncidentNotice.objects.get().clock is None


def test_a_discovery_in_the_future_is_refused():
    with pytest.raises(ValidationError, match="This moment is in the future"):
        factories.incident(found_at=timezone.now() + datetime.timedelta(minutes=5))


def test_an_incident_with_a_running_clock_cannot_be_closed():
    paper = factories.authorization()
    running = clock(paper, title="first call")
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    today = timezone.localdate()
    with pytest.raises(ValidationError, match="No notice yet for: first call"):
        incident_close(actor=factories.person(), incident=incident, closed_on=today, reason="pulled out")
    tell(incident, FRIDAY, [running])
    for day, reason, field in ((datetime.date(2026, 10, 8), "x", "closed_on"), (today, " ", "reason")):
        with pytest.raises(ValidationError) as refused:
            incident_close(actor=factories.person(), incident=incident, closed_on=day, reason=reason)
        assert field in refused.value.message_dict
    incident_close(actor=factories.person(), incident=incident, closed_on=today, reason="pulled out")
    incident.refresh_from_db()
    assert (incident.closed_on, incident.closed_reason) == (today, "pulled out")
    assert running_clocks(factories.person(), FRIDAY) == []


def test_running_clocks_need_four_queries_for_any_number():
    lead = factories.person()
    counts = []
    for _ in range(2):
        for _ in range(3):
            paper = factories.authorization(actor=lead)
            clock(paper, 2), clock(paper, 1)
            tell(factories.incident(papers=[paper], found_at=FRIDAY), FRIDAY, [paper.clocks.last()])
        with CaptureQueriesContext(connection) as captured:
            found = running_clocks(lead, FRIDAY)
        counts.append((len(captured), len(found)))
    assert counts == [(4, 3), (4, 6)]


def test_a_changed_discovery_moves_the_clocks():
    paper = factories.authorization()
    clock(paper, 1)
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    incident.found_at = FRIDAY - datetime.timedelta(hours=5)
    incident_save(actor=factories.person(), incident=incident, reason="the crew saw it in the morning")
    assert states(incident)[0].late_by == datetime.timedelta(hours=4)
    assert AuditEntry.objects.get(verb="incident.changed").reason == "the crew saw it in the morning"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2026-10-09T17:00", FRIDAY),
        ("2026-11-01T01:30", utc(2026, 11, 1, 5, 30)),  # that half hour came twice; the first one makes the earlier deadline
        ("2026-03-08T01:59", utc(2026, 3, 8, 6, 59)),
        ("2026-03-08T03:00", utc(2026, 3, 8, 7)),
    ],
)
def test_an_hour_that_comes_twice_is_read_as_the_first(typed, meant):
    assert ZonedTimeField().clean(typed) == meant


@pytest.mark.parametrize("typed", ["2026-03-08T02:00", "2026-03-08T02:30", "2026-03-08T02:59"])
def test_an_hour_that_daylight_time_skips_is_refused_with_advice(typed):
    # clocks go forward at 2 a.m. on the second Sunday of March: 15 U.S.C. 260a
    with pytest.raises(ValidationError) as refused:
        ZonedTimeField().clean(typed)
    assert refused.value.messages == [
        f"There was no {typed[-5:]} on 8 Mar 2026: the clocks went forward from 02:00 to 03:00. "
        "Give a time before 02:00, or 03:00 or later."
    ]


def test_a_text_that_is_not_a_moment_is_refused():
    with pytest.raises(ValidationError, match="Enter a valid date/time"):
        ZonedTimeField().clean("yesterday")


def test_spans_and_moments_in_words():
    spans = [
        (0, "0 minutes"),
        (59, "0 minutes"),
        (60, "1 minute"),
        (3 * 3600 + 60, "3 hours 1 minute"),
        (86400, "1 day"),
        (176400, "2 days 1 hour"),
    ]
    assert [span_words(datetime.timedelta(seconds=seconds)) for seconds, _words in spans] == [words for _seconds, words in spans]
    assert zoned_words(FRIDAY) == "9 Oct 2026, 17:00 EDT (America/New_York)"


FORM = {"title": "Stolen tags", "what": "Twelve tags", "found_at": "2026-10-09T17:00", "found_by": "F. Finder", "lots": ""}


def test_the_form_stores_an_incident_with_its_papers_and_lots(client):
    manager = factories.person("manager")
    client.force_login(manager)
    paper = factories.authorization(state="expired")
    clock(paper, 24, title="written report")
    lot = factories.stock_lot(code="P-77")
    page = client.get(reverse("incident_add"), {"paper": paper.pk}).content.decode()
    assert "America/New_York" in page and f'<option value="{paper.pk}" selected>' in page
    response = client.post(reverse("incident_add"), FORM | {"authorizations": [paper.pk], "lots": "p-77"}, follow=True)
    incident = Incident.objects.get()
    assert (incident.found_at, list(incident.lots.all()), list(incident.authorizations.all())) == (FRIDAY, [lot], [paper])
    text = response.content.decode()
    assert "10 Oct 2026, 17:00 EDT (America/New_York)" in text
    assert "check with the local authority" in text


def test_an_unknown_lot_is_refused_by_name(client):
    client.force_login(factories.person("manager"))
    page = client.post(reverse("incident_add"), FORM | {"lots": "P-1, NONE"}).content.decode()
    assert "No lot on file has this code: P-1, NONE." in page and "Twelve tags" in page
    assert not Incident.objects.exists()


def test_telling_and_closing_on_screen(client):
    client.force_login(factories.person("coordinator"))
    paper = factories.authorization()
    running = clock(paper, 24, title="first call")
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    refused = client.post(reverse("incident_close", args=[incident.pk]), {"closed_on": "2026-11-01", "reason": "x"}).content.decode()
    assert "No notice yet for: first call" in refused
    values = {"clocks": [running.pk], "told_at": "2026-10-09T18:00", "told_whom": "Office", "how": "phone", "told_by": "Me"}
    page = client.post(reverse("incident_notice", args=[incident.pk]), values, follow=True).content.decode()
    assert "told in time" in page and "9 Oct 2026, 18:00 EDT (America/New_York)" in page
    page = client.post(reverse("incident_close", args=[incident.pk]), {"closed_on": "2026-11-01", "reason": "pulled out"}, follow=True)
    assert "Closed: pulled out" in page.content.decode()


def test_the_file_of_a_notice_is_a_download_without_caching(client):
    client.force_login(factories.person("auditor"))
    [notice] = tell(factories.incident(found_at=FRIDAY), FRIDAY, content=b"told them\n", filename="note.txt")
    response = client.get(reverse("incident_file", args=[notice.pk]))
    assert response.content == b"told them\n"
    assert (response["Cache-Control"], "attachment" in response["Content-Disposition"]) == ("private, no-store", True)


def test_the_clock_of_a_corrected_notice_runs_again():
    paper = factories.authorization()
    limit = clock(paper)
    incident = factories.incident(papers=[paper], found_at=FRIDAY)
    (wrong,) = tell(incident, FRIDAY, [limit])
    values = {"told_at": FRIDAY, "told_whom": "another office", "how": "by phone", "told_by": "A. Clerk"}
    with pytest.raises(ValidationError, match="Say why it is corrected"):
        incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, **values)
    incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, reason="it was the wrong office", **values)
    (state,) = incident_clocks(with_clocks(Incident.objects.all()).get(), FRIDAY)
    assert state.is_running and IncidentNotice.objects.count() == 2
    with pytest.raises(ValidationError, match="corrected already"):
        incident_notice_enter(actor=factories.person("lead"), incident=incident, supersedes=wrong, reason="once more", **values)


def test_a_notice_is_corrected_on_screen(client):
    incident = factories.incident(papers=[factories.authorization()], found_at=FRIDAY)
    (wrong,) = tell(incident, FRIDAY)
    client.force_login(factories.person("coordinator"))
    address = reverse("incident_correct", args=[wrong.pk])
    assert "another office" not in client.get(address).content.decode()
    moment = timezone.localtime(FRIDAY) + datetime.timedelta(hours=1)
    data = {
        "told_at": f"{moment:%Y-%m-%dT%H:%M}",
        "told_whom": "another office",
        "how": "by phone",
        "told_by": "A",
        "reason": "it was the wrong office",
    }
    answer = client.post(address, data)
    assert answer.status_code == 302, answer.context["form"].errors
    page = client.get(reverse("incident_detail", args=[incident.pk])).content.decode()
    assert "another office" in page and "corrected: it was the wrong office" in page
