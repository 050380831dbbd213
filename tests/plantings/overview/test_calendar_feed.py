"""The calendar feed of a person: what is in it, who may read it, and that it stays the same."""

import datetime
import hashlib

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from plantings.selectors.overview.calendar import own_entries
from registry.models import AuditEntry, CalendarFeed, ReportingClock
from registry.services.duties.duties import duty_close, duty_done_enter, duty_save
from registry.services.duties.feeds import feed_make, feed_revoke
from registry.services.duties.incidents import incident_notice_enter
from registry.services.shared.records import record_save
from tests import factories

pytestmark = pytest.mark.django_db
DAY = datetime.date


def feed(client, token):
    return client.get(reverse("calendar_feed", args=[token]))


def events(response):
    return {str(item["uid"]): item for item in Calendar.from_ical(response.content).walk("VEVENT")}


def test_the_address_is_shown_once_and_only_its_hash_stored(client, settings):
    settings.SITE_URL = "https://book.example.org"
    person = factories.person("manager")
    client.force_login(person)
    own = reverse("calendar_own")
    made = client.post(own, {"do": "make"})
    [token] = [part.split(".ics")[0] for part in made.content.decode().split("https://book.example.org/calendar/feed/")[1:]]
    assert made["Cache-Control"] == "no-store" and len(token) >= 43  # 32 octets of chance in base 64
    kept = CalendarFeed.objects.get()
    assert kept.token_sha256 == hashlib.sha256(token.encode()).hexdigest()
    assert token not in client.get(own).content.decode()
    assert not AuditEntry.objects.filter(changes__icontains=kept.token_sha256).exists()
    assert feed(client, token).status_code == 200


def test_a_new_address_closes_the_old_one(client):
    person = factories.person("manager")
    first, second = feed_make(actor=person), feed_make(actor=person)
    assert [feed(client, token).status_code for token in (first, second, "guess", second[:-1])] == [404, 200, 404, 404]
    client.force_login(person)
    assert "The address is closed." in client.post(reverse("calendar_own"), {"do": "revoke"}, follow=True).content.decode()
    assert feed(client, second).status_code == 404
    assert feed_revoke(actor=person) is False
    assert list(AuditEntry.objects.filter(record_type="calendarfeed").values_list("verb", flat=True).order_by("pk")) == [
        "calendarfeed.added", "calendarfeed.revoked", "calendarfeed.added", "calendarfeed.revoked",
    ]  # fmt: skip


@pytest.mark.parametrize("change", [{"is_active": False}, {"role": "landowner"}, {"role": "archivist"}, {"left_on": DAY(2020, 1, 1)}])
def test_an_address_stops_working_when_its_owner_loses_access(client, change):
    person = factories.person("manager", partner=factories.partner())
    token = feed_make(actor=person)
    for name, value in change.items():
        setattr(person, name, value)
    person.save()
    assert feed(client, token).status_code == 404


def test_the_feed_needs_no_sign_in_and_is_never_cached(client):
    response = feed(client, feed_make(actor=factories.person("manager")))
    assert (response["Content-Type"], response["Cache-Control"]) == ("text/calendar; charset=utf-8", "no-store")
    assert client.post(reverse("calendar_feed", args=["x"])).status_code == 405


def test_a_feed_holds_a_persons_own_and_nothing_of_others(client):
    today = timezone.localdate()
    soon = today + datetime.timedelta(days=10)
    volunteer, other = factories.person("volunteer", phone="+1 802 555 0100"), factories.person("volunteer")
    own = factories.duty(title="Blüten zählen 数える " * 6, first_due_on=soon, responsible=volunteer)
    factories.duty(first_due_on=soon, responsible=other)
    factories.authorization(ends_on=soon, state="in_force", holder_person="H. Holder")
    planting = factories.planting(crew=[volunteer])
    mine = factories.census_round(planting, opens_on=soon, closes_on=soon + datetime.timedelta(days=20))
    factories.census_round(factories.planting(), opens_on=soon, closes_on=soon)
    response = feed(client, feed_make(actor=volunteer))
    found = events(response)
    assert set(found) == {f"duty-{own.pk}-{soon:%Y%m%d}@localhost", f"round-{mine.pk}@localhost"}
    window = found[f"round-{mine.pk}@localhost"]
    assert window.decoded("dtend") - window.decoded("dtstart") == datetime.timedelta(days=21)
    assert found[f"duty-{own.pk}-{soon:%Y%m%d}@localhost"]["summary"].startswith("Blüten zählen 数える")
    for private in ("802 555", "@example.org", "H. Holder"):
        assert private not in response.content.decode()


def test_a_coordinator_sees_all_papers_and_a_holder_their_own(client):
    soon = timezone.localdate() + datetime.timedelta(days=10)
    coordinator, manager = factories.person("coordinator"), factories.person("manager")
    paper = factories.authorization(ends_on=soon, review_by=soon, state="in_force")
    held = factories.authorization(ends_on=soon, state="in_force", holder_account=manager)
    uids = [{uid.split("@")[0] for uid in events(feed(client, feed_make(actor=person)))} for person in (coordinator, manager)]
    assert uids == [{f"paper-{paper.pk}-end", f"paper-{paper.pk}-review", f"paper-{held.pk}-end"}, {f"paper-{held.pk}-end"}]


def test_uids_stay_and_the_sequence_grows_with_each_change(client):
    today = timezone.localdate()
    lead, soon = factories.person("lead"), today + datetime.timedelta(days=5)
    record = factories.duty(actor=lead, recurrence="years", first_due_on=soon, responsible=lead)
    token = feed_make(actor=lead)
    first = feed(client, token)
    assert feed(client, token).content == first.content
    uid = f"duty-{record.pk}-{soon:%Y%m%d}@localhost"
    record.title = "Another title"
    duty_save(actor=lead, duty=record, reason="clearer")
    second = events(feed(client, token))[uid]
    duty_done_enter(actor=lead, duty=record, due_on=soon, done_on=today, by="A", evidence="x")
    third = events(feed(client, token))[uid]
    duty_close(actor=lead, duty=record, closed_on=today, reason="released")
    fourth = events(feed(client, token))
    assert [item["sequence"] for item in (events(first)[uid], second, third, fourth[uid])] == [0, 1, 2, 3]
    assert second["summary"] == f"Another title ({record.code})" and third["description"].startswith("Duty, done")
    # what was done stays; what is no longer asked is cancelled, not dropped
    assert fourth[uid]["status"] == "CONFIRMED"
    later = [item for key, item in fourth.items() if key != uid]
    assert [item["status"] for item in later] == ["CANCELLED"] * len(later) and later


def test_a_renamed_site_raises_the_sequence_of_its_window(client):
    soon = timezone.localdate() + datetime.timedelta(days=10)
    volunteer, site = factories.person("volunteer"), factories.site(name="Old name")
    factories.census_round(factories.planting(site=site, crew=[volunteer]), opens_on=soon, closes_on=soon)
    token = feed_make(actor=volunteer)
    [before] = events(feed(client, token)).values()
    for name in ("Second name", "Third name"):
        site.name = name
        record_save(actor=factories.person(), obj=site)
    [after] = events(feed(client, token)).values()
    assert after["sequence"] > before["sequence"] and "Third name" in after["summary"]


def test_overdue_entries_stay_in_the_feed_until_done():
    lead, on = factories.person("lead"), DAY(2026, 11, 25)
    kept = factories.duty(first_due_on=DAY(2025, 3, 1), responsible=lead)
    done = factories.duty(first_due_on=DAY(2025, 3, 1), responsible=lead)
    duty_done_enter(actor=lead, duty=done, due_on=DAY(2025, 3, 1), done_on=DAY(2025, 3, 1), by="A", evidence="x")
    closed = factories.duty(first_due_on=DAY(2025, 3, 1), responsible=lead)
    duty_close(actor=lead, duty=closed, closed_on=DAY(2025, 4, 1), reason="released")
    asked = factories.authorization(review_by=DAY(2025, 3, 1), state="in_force", ends_on=DAY(2025, 2, 1))
    assert {entry.key for entry in own_entries(lead, on)} == {f"duty-{kept.pk}-20250301", f"paper-{asked.pk}-review"}


def test_the_days_of_29_february_are_in_the_feed_of_common_years():
    lead = factories.person("lead")
    factories.duty(recurrence="years", first_due_on=DAY(2024, 2, 29), responsible=lead)
    days = [DAY(2024, 2, 29), DAY(2025, 2, 28), DAY(2026, 2, 28), DAY(2027, 2, 28), DAY(2028, 2, 29), DAY(2029, 2, 28)]
    assert [entry.first for entry in own_entries(lead, DAY(2025, 1, 1))] == days[:3]
    assert [entry.first for entry in own_entries(lead, DAY(2027, 6, 1))] == days  # those behind are late, and stay


def test_the_feed_asks_the_same_queries_for_few_events_and_for_many(client):
    coordinator = factories.person("coordinator")
    soon = timezone.localdate() + datetime.timedelta(days=10)
    token, counts = feed_make(actor=coordinator), []
    for _ in range(2):
        for _ in range(4):
            factories.duty(first_due_on=soon, responsible=coordinator, authorization=factories.authorization(ends_on=soon))
            factories.census_round(factories.planting(), opens_on=soon, closes_on=soon)
        with CaptureQueriesContext(connection) as captured:
            found = events(feed(client, token))
        counts.append((len(captured), len(found)))
    assert counts[0][0] == counts[1][0] and counts[1][1] > counts[0][1]


def alarms_at(item):
    start = item.decoded("dtstart")
    start = start if isinstance(start, datetime.datetime) else datetime.datetime.combine(start, datetime.time.min)
    return [start + alarm.decoded("trigger") for alarm in item.walk("VALARM")]


def test_an_entry_says_what_it_is_about_and_what_comes_next(client, settings):
    soon = timezone.localdate() + datetime.timedelta(days=40)
    lead = factories.person("lead")
    paper = factories.authorization(code="P-1", title="Permit", issuer="Example office", ends_on=soon, state="in_force")
    factories.duty(
        title="Flower report",
        first_due_on=soon,
        responsible=lead,
        authorization=paper,
        evidence_wanted="a copy of the report",
        lead_days=10,
    )
    found = {str(item["summary"]): item for item in events(feed(client, feed_make(actor=lead))).values()}
    [duty] = [item for title, item in found.items() if title.startswith("Flower report")]
    for said in ("Duty\nreport", "Under Permit (P-1)", "Evidence: a copy of the report", "Next: do it, then enter it with its evidence"):
        assert said in duty["description"], said
    nine = datetime.datetime.combine(soon, datetime.time(9))
    assert alarms_at(duty) == [nine - datetime.timedelta(days=10), nine - datetime.timedelta(days=1)]
    end = found["Permit (P-1) ends"]
    assert "Example office" in end["description"] and "Next: ask about a renewal" in end["description"]
    assert alarms_at(end) == [nine - datetime.timedelta(days=90), nine - datetime.timedelta(days=30)]


def test_what_is_done_reminds_of_nothing(client):
    lead, soon = factories.person("lead"), timezone.localdate() + datetime.timedelta(days=5)
    record = factories.duty(actor=lead, first_due_on=soon, responsible=lead)
    token = feed_make(actor=lead)
    [open_duty] = events(feed(client, token)).values()
    duty_done_enter(actor=lead, duty=record, due_on=soon, done_on=timezone.localdate(), by="A", evidence="x")
    [done] = events(feed(client, token)).values()
    assert open_duty.walk("VALARM") and not done.walk("VALARM")
    assert "Next: do it" in open_duty["description"] and "Next" not in done["description"]


def test_a_renamed_paper_raises_the_sequence_of_its_duty(client):
    lead, soon = factories.person("lead"), timezone.localdate() + datetime.timedelta(days=5)
    paper = factories.authorization(actor=lead, title="Permit")
    factories.duty(actor=lead, first_due_on=soon, responsible=lead, authorization=paper)
    token = feed_make(actor=lead)
    [before] = [item for uid, item in events(feed(client, token)).items() if uid.startswith("duty")]
    paper.title = "Renamed permit"
    record_save(actor=lead, obj=paper)
    [after] = [item for uid, item in events(feed(client, token)).items() if uid.startswith("duty")]
    assert "Renamed permit" in after["description"] and after["sequence"] > before["sequence"]


def test_the_clocks_of_an_incident_are_in_the_feed_until_somebody_is_told(client):
    lead = factories.person("lead")
    paper = factories.authorization(code="P-1", title="Permit")
    hours = ReportingClock.objects.create(authorization=paper, title="first call", tell="the plant office", amount=24, unit="hours")
    ReportingClock.objects.create(authorization=paper, title="written report", tell="the plant office", amount=5, unit="days")
    found_at = timezone.now().replace(microsecond=0) - datetime.timedelta(hours=3)
    record = factories.incident(actor=lead, code="IN-1", title="Tags gone", papers=[paper], found_at=found_at)
    token = feed_make(actor=lead)
    found = {str(item["summary"]): item for item in events(feed(client, token)).values()}
    assert set(found) == {
        "Incident IN-1: first call, tell the plant office", "Incident IN-1: written report, tell the plant office"
    }  # fmt: skip
    call, report = (found[title] for title in sorted(found))
    assert call.decoded("dtstart") == found_at + datetime.timedelta(hours=24)
    assert alarms_at(call) == [found_at + datetime.timedelta(hours=22)]
    assert report.decoded("dtstart") == timezone.localdate(found_at) + datetime.timedelta(days=5)
    assert "Tags gone" in call["description"] and "Next: tell the plant office, then enter who was told" in call["description"]
    incident_notice_enter(
        actor=lead, incident=record, clocks=[hours], told_at=timezone.now(), told_whom="A. Officer", how="by phone", told_by="L. Lead"
    )
    told = events(feed(client, token))[str(call["uid"])]
    assert told["description"].startswith("Incident, done") and not told.walk("VALARM") and told["sequence"] > call["sequence"]
