"""A record as a phone sends it. The days are worked out by hand: what a clock is wrong at the record it is wrong at the sending."""

from dataclasses import replace

import pytest

from plantings.calc.phone.clock import note_typed, note_with_clock, seen_ms
from plantings.calc.phone.reading import UnreadableRecord, read_record, sent_uuid

UUID = "00000000-0000-4000-8000-000000000001"
HOUR, DAY = 3_600_000, 86_400_000
NOW = 1_500 * DAY


def record(**fields):
    return read_record({"uuid": UUID, "tree": 7, "status": "A", "values": {}, "at": NOW} | fields)


@pytest.mark.parametrize("wrong", [0, HOUR, -HOUR, 366 * DAY, -366 * DAY])
def test_a_moment_is_as_long_ago_as_the_phone_says_whatever_its_clock(wrong):
    made = record(at=NOW - 3 * HOUR + wrong, loaded=NOW - DAY)
    assert seen_ms(made, clock_ms=NOW + wrong, now_ms=NOW) == NOW - 3 * HOUR


def test_a_clock_changed_in_between_gives_the_nearest_moment():
    made = record(at=NOW + 366 * DAY, loaded=NOW - DAY)
    assert seen_ms(made, clock_ms=NOW, now_ms=NOW) == NOW
    assert seen_ms(replace(made, at_ms=NOW - 366 * DAY), clock_ms=NOW, now_ms=NOW) == NOW - DAY


def test_a_phone_that_fetched_the_round_tomorrow_is_believed_until_now():
    assert seen_ms(record(loaded=NOW + DAY), clock_ms=NOW + HOUR, now_ms=NOW) == NOW


def test_no_moment_is_before_1970():
    assert seen_ms(record(at=-(2**60)), clock_ms=0, now_ms=NOW) == 0


def test_a_note_is_as_it_was_typed_once_the_clock_is_taken_off():
    assert note_typed(note_with_clock("leaning [see photo]", "2031-01-01")) == "leaning [see photo]"
    assert note_typed(note_with_clock("", "2031-01-01")) == ""
    assert record(note="x [phone clock: 2031-01-01]").note == "x"


def test_blanks_are_left_out_and_whole_numbers_are_whole():
    values = record(values={"height_cm": 142, "diameter_mm": None, "browse_class": "", "dieback_percent": 10.0}).values
    assert values == {"height_cm": 142.0, "dieback_percent": 10}
    assert [type(value) for value in values.values()] == [float, int]


def test_what_cannot_be_read_says_which_part():
    with pytest.raises(UnreadableRecord, match="Dieback: 10.5 is not a whole number"):
        record(values={"dieback_percent": 10.5})
    with pytest.raises(UnreadableRecord, match="The part “tree” of this record cannot be read"):
        record(tree="7")


def test_an_identifier_has_one_form():
    assert str(sent_uuid(UUID)) == UUID
    assert [sent_uuid(text) for text in (UUID.replace("-", ""), f"{{{UUID}}}", UUID.upper().replace("0", "A"), None, 7)] == [None] * 5
