"""Calendar files against RFC 5545 (2009), on the bytes and as another reader understands them."""

import datetime
import re
from datetime import UTC, date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from registry.prints.calendar_file import CONTENT_TYPE, DayEvent, calendar_file

CHANGED = datetime.datetime(2026, 10, 9, 17, 0, 0, 123456, tzinfo=datetime.timezone(datetime.timedelta(hours=-4)))
LONG = "Entfernung der männlichen Blüten vor dem Stäuben, 数える, 🌰🌰🌰 " * 4


def event(title="Census", **fields):
    fields = {"uid": "duty-1-20240930@example.org", "first": date(2024, 9, 30), "last": date(2024, 9, 30), "changed_at": CHANGED} | fields
    return DayEvent(title=title, **fields)


def lines(content):
    return content.decode().replace("\r\n ", "").split("\r\n")


def read(content):
    return Calendar.from_ical(content).walk("VEVENT")


def test_lines_end_in_crlf_and_fold_at_75_octets_between_letters():
    # RFC 5545, 3.1: lines end in CRLF, no longer than 75 octets without the break; a fold begins with one white space
    content = calendar_file("Duties", [event(LONG, description=LONG)])
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"") and b"\r" not in content.replace(b"\r\n", b"")
    physical = content.split(b"\r\n")
    assert max(map(len, physical)) <= 75
    assert sum(line.startswith(b" ") for line in physical) >= 4
    for line in physical:
        line.decode()  # raises when a fold went through a letter
    assert f"SUMMARY:{LONG}".replace(",", "\\,") in lines(content)


def test_the_calendar_and_its_events_have_what_they_must():
    # 3.6: VERSION and PRODID once; 3.6.1: UID and DTSTAMP in every event, DTSTAMP in UTC (3.8.7.2)
    found = lines(calendar_file("Duties", [event()]))
    assert found[0] == "BEGIN:VCALENDAR" and found.count("VERSION:2.0") == 1
    assert len([line for line in found if line.startswith("PRODID:")]) == 1
    assert "UID:duty-1-20240930@example.org" in found and "DTSTAMP:20261009T210000Z" in found
    assert not [line for line in found if line.startswith(("METHOD", "RRULE", "ATTENDEE", "ORGANIZER"))]
    assert CONTENT_TYPE == "text/calendar; charset=utf-8"  # 8.1


def test_whole_days_end_on_the_day_after_the_last():
    # 3.6.1: DTEND is exclusive; a census on 30 September 2024 ends on 1 October
    found = lines(calendar_file("Duties", [event()]))
    assert "DTSTART;VALUE=DATE:20240930" in found and "DTEND;VALUE=DATE:20241001" in found
    window = read(calendar_file("Duties", [event(first=date(2024, 2, 28), last=date(2024, 2, 29))]))[0]
    assert (window.decoded("dtstart"), window.decoded("dtend")) == (date(2024, 2, 28), date(2024, 3, 1))


def test_text_is_escaped():
    # 3.3.11: backslash, semicolon and comma are escaped, a line break is \n
    found = lines(calendar_file("Duties", [event("a\\b; c, d\r\ne: f")]))
    assert "SUMMARY:a\\\\b\\; c\\, d\\ne: f" in found


def test_a_pasted_control_character_is_left_out():
    content = calendar_file("Duties\x00", [event("bell\x07 and\x1b escape\x7f")])
    assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", content)
    assert read(content)[0].decoded("summary") == "bell and escape"


def test_a_cancelled_event_stays_with_its_uid_and_a_higher_sequence():
    # 3.8.1.11 and 3.8.7.4
    before, after = event(sequence=1), event(sequence=2, is_cancelled=True)
    first, second = (read(calendar_file("Duties", [item]))[0] for item in (before, after))
    assert (first["status"], first["sequence"]) == ("CONFIRMED", 1)
    assert (second["status"], second["sequence"], second["uid"]) == ("CANCELLED", 2, first["uid"])


def test_the_same_events_make_the_same_bytes():
    events = [event(), event(uid="b@example.org")]
    assert calendar_file("Duties", events) == calendar_file("Duties", events)


@given(st.text(st.characters(exclude_categories=["Cs", "Cc"]) | st.just("\n"), max_size=300))
def test_any_title_is_read_back_as_it_was_written(title):
    content = calendar_file("Duties", [event(title)])
    assert max(map(len, content.split(b"\r\n"))) <= 75
    assert read(content)[0]["summary"] == title


@pytest.mark.parametrize("year", [2024, 2025])
def test_the_last_days_of_february_are_days_like_others(year):
    last = date(year, 3, 1) - datetime.timedelta(days=1)
    found = read(calendar_file("Duties", [event(first=last, last=last)]))[0]
    assert (found.decoded("dtstart"), found.decoded("dtend")) == (last, date(year, 3, 1))
    assert found.decoded("dtstamp").tzinfo.utcoffset(None) == UTC.utcoffset(None)


def test_an_event_reminds_before_its_day():
    # 3.6.6: a DISPLAY alarm has an action, a description and a trigger; 3.8.6.3: the trigger is relative to the start
    before = (datetime.timedelta(days=-30, hours=9), datetime.timedelta(hours=9))
    content = calendar_file("Duties", [event(alarms=before)])
    [found] = read(content)
    alarms = found.walk("VALARM")
    assert [alarm["action"] for alarm in alarms] == ["DISPLAY", "DISPLAY"]
    assert [alarm["description"] for alarm in alarms] == ["Census", "Census"]
    assert [found.decoded("dtstart") + alarm.decoded("trigger") for alarm in alarms] == [date(2024, 8, 31), date(2024, 9, 30)]
    assert "TRIGGER:-P29DT15H" in lines(content) and "TRIGGER:PT9H" in lines(content)
    assert content == calendar_file("Duties", [event(alarms=before)])


def test_a_cancelled_event_reminds_of_nothing():
    [found] = read(calendar_file("Duties", [event(alarms=(datetime.timedelta(hours=9),), is_cancelled=True)]))
    assert not found.walk("VALARM")


def test_a_moment_is_written_in_utc_and_has_no_end():
    # 3.6.1: an event of a DATE-TIME start and no end ends when it starts
    [found] = read(calendar_file("Duties", [event(at=CHANGED)]))
    assert found.decoded("dtstart") == CHANGED.astimezone(UTC).replace(microsecond=0) and "dtend" not in found
