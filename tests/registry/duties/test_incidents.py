"""Incidents: entered whatever the papers say; their clocks start at the discovery and are shown with the time zone."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from registry.calc.shared.screen import span_words
from registry.forms.shared.datetime_box import ZonedTimeField
from registry.models import AuditEntry, IncidentNotice
from registry.selectors.duties.incidents import clock_status, limit_words, running_clocks, zoned_words
from registry.services.duties.incidents import incident_close, incident_save
from registry.views.duties.incidents import clocks_words
from tests import factories
from tests.registry.duties.incident_help import FRIDAY, clock, states, tell, utc

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def new_york(settings):
    settings.TIME_ZONE = "America/New_York"
    with timezone.override("America/New_York"):
        yield


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
