"""Due dates and clocks. Dates are checked against dateutil (relativedelta, and its rules of RFC 5545) and numpy's business days."""

from calendar import isleap
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import MONTHLY, YEARLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from registry.compliance.duties.clocks import Clock, Deadline, deadline, is_in_time
from registry.compliance.duties.duties import Done, Duty, Step, done_without_due, notice_reached, overdue_titles, status_of, statuses
from registry.compliance.duties.recurrence import Recurrence, add_months, occurrences
from tests.compliance.scene import answer, asked, paper

D = date
NEW_YORK = ZoneInfo("America/New_York")
DAYS = st.dates(D(1990, 1, 1), D(2060, 12, 31))
SPANS = st.tuples(DAYS, DAYS).map(sorted)


def by_rule(freq, first, end, **words):
    return [found.date() for found in rrule(freq, dtstart=datetime.combine(first, time()), until=datetime.combine(end, time()), **words)]


@given(DAYS, st.integers(-600, 600))
def test_adding_months_stops_at_month_end_as_dateutil_does(day, months):
    assert add_months(day, months) == day + relativedelta(months=months)


@given(DAYS, st.integers(1, 30), SPANS)
def test_every_so_many_months_as_in_dateutil(first, every, span):
    found = occurrences(Recurrence("months", first, every=every), *span)
    steps = (first + relativedelta(months=every * count) for count in range(900 // every + 1))
    assert found == [day for day in steps if span[0] <= day <= span[1]]


@given(DAYS.filter(lambda day: day.day <= 28), st.integers(1, 18), SPANS)
def test_every_so_many_months_agrees_with_rfc_5545(first, every, span):
    assert occurrences(Recurrence("months", first, every=every), *span) == [
        day for day in by_rule(MONTHLY, first, span[1], interval=every) if day >= span[0]
    ]


def test_a_duty_on_the_31st_is_due_on_the_last_day_of_the_month():
    found = occurrences(Recurrence("months", D(2027, 1, 31)), D(2027, 1, 1), D(2029, 12, 31))
    assert found == by_rule(MONTHLY, D(2027, 1, 31), D(2029, 12, 31), bymonthday=-1)


@given(st.integers(1990, 2040), st.integers(1, 7), SPANS)
def test_every_so_many_years_as_in_dateutil(year, every, span):
    first = D(year, 2, 29 if isleap(year) else 28)
    steps = (first + relativedelta(years=every * count) for count in range(90 // every + 1))
    assert occurrences(Recurrence("years", first, every=every), *span) == [day for day in steps if span[0] <= day <= span[1]]


@given(st.integers(1, 12), st.integers(1, 28), DAYS, SPANS)
def test_yearly_on_a_day_as_by_the_rule_of_rfc_5545(month, day, first, span):
    found = occurrences(Recurrence("yearly_on", first, month=month, day=day), *span)
    assert found == [due for due in by_rule(YEARLY, first, span[1], bymonth=month, bymonthday=day) if due >= span[0]]


def test_yearly_on_29_february_is_due_on_the_last_of_february():
    found = occurrences(Recurrence("yearly_on", D(2096, 1, 1), month=2, day=29), D(2096, 1, 1), D(2105, 12, 31))
    assert found == by_rule(YEARLY, D(2096, 1, 1), D(2105, 12, 31), bymonth=2, bymonthday=-1)
    assert (found[0], found[4], found[8]) == (D(2096, 2, 29), D(2100, 2, 28), D(2104, 2, 29))


@given(st.integers(1, 12), st.integers(1, 28), st.integers(1, 400), DAYS, SPANS)
def test_days_before_the_season_match_rfc_5545(month, day, days_before, first, span):
    back = timedelta(days=days_before)
    found = occurrences(Recurrence("before_season", first, month=month, day=day, days_before=days_before), *span)
    season = by_rule(YEARLY, first, span[1] + back, bymonth=month, bymonthday=day)
    assert found == [due - back for due in season if due - back >= max(first, span[0])]


def test_what_must_be_done_before_new_year_is_due_in_the_old_year():
    flowers = Recurrence("before_season", D(2026, 1, 1), month=1, day=1)
    assert occurrences(flowers, D(2026, 1, 1), D(2027, 12, 31)) == [D(2026, 12, 31), D(2027, 12, 31)]


def test_flowers_are_removed_by_the_day_before_they_open():
    flowers = Recurrence("before_season", D(2026, 1, 1), month=5, day=20)
    assert occurrences(flowers, D(2026, 1, 1), D(2026, 12, 31)) == [D(2026, 5, 19)]


@pytest.mark.parametrize(
    ("start", "end", "found"),
    [
        (D(2026, 1, 1), D(2026, 12, 30), []),
        (D(2026, 12, 31), D(2026, 12, 31), [D(2026, 12, 31)]),
        (D(2027, 1, 1), D(2030, 1, 1), []),
        (D(2030, 1, 1), D(2026, 1, 1), []),
    ],
)
def test_once_is_once_and_both_ends_belong_to_the_span(start, end, found):
    assert occurrences(Recurrence("once", D(2026, 12, 31)), start, end) == found


def test_nothing_falls_due_after_the_last_day_of_the_recurrence():
    assert occurrences(Recurrence("years", D(2025, 3, 1), until=D(2027, 3, 1)), D(2020, 1, 1), D(2040, 1, 1))[-1] == D(2027, 3, 1)
    assert occurrences(Recurrence("years", D(2025, 3, 1), until=D(2027, 2, 28)), D(2020, 1, 1), D(2040, 1, 1))[-1] == D(2026, 3, 1)


def test_the_last_year_of_the_calendar_is_not_a_fault():
    assert occurrences(Recurrence("yearly_on", D(9998, 1, 1), month=12, day=31), D(9998, 1, 1), date.max) == [
        D(9998, 12, 31),
        D(9999, 12, 31),
    ]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ({"kind": "weekly"}, "“weekly” is not a recurrence. Use one of once, months"),
        ({"kind": "months", "every": 0}, "Every 0 months is not a recurrence"),
        ({"kind": "years", "every": -1}, "Every -1 years is not a recurrence"),
        ({"kind": "yearly_on"}, "Month None, day None is not a day of a year"),
        ({"kind": "yearly_on", "month": 2, "day": 30}, "Month 2, day 30 is not a day of a year"),
        ({"kind": "before_season", "month": 13, "day": 1}, "Month 13, day 1"),
        ({"kind": "before_season", "month": 5, "day": 20, "days_before": 0}, "0 days before is not before"),
    ],
)
def test_a_recurrence_that_does_not_fit_together_is_named(words, told):
    with pytest.raises(ValueError, match=told):
        Recurrence(first_due=D(2026, 1, 1), **words)


STEPS = (Step(1, "coordinator"), Step(14, "programme lead"), Step(30, "holder's body"))
REPORT = Duty(
    "D1",
    "Yearly report",
    Recurrence("yearly_on", D(2025, 1, 1), month=3, day=31),
    "P-WI",
    30,
    STEPS,
    (Done(D(2025, 3, 31), D(2025, 3, 31)),),
)
DUE = D(2026, 3, 31)
STATUS = [
    ("long before: upcoming", D(2026, 2, 28), None, ("upcoming", 0, 0)),
    ("lead time begins: due", D(2026, 3, 1), None, ("due", 0, 0)),
    ("the day itself: due", DUE, None, ("due", 0, 0)),
    ("the day after: late, first told", D(2026, 4, 1), None, ("late", 1, 1)),
    ("13 days late: still the first", D(2026, 4, 13), None, ("late", 13, 1)),
    ("14 days late: the second", D(2026, 4, 14), None, ("late", 14, 2)),
    ("30 days late: the third", D(2026, 4, 30), None, ("late", 30, 3)),
    ("a year late: no more than three", D(2027, 3, 31), None, ("late", 365, 3)),
    ("done early: on time", D(2026, 4, 14), D(2026, 1, 5), ("done_on_time", 0, 0)),
    ("done on the day: on time", D(2026, 4, 14), DUE, ("done_on_time", 0, 0)),
    ("done the day after: late by one", D(2026, 4, 14), D(2026, 4, 1), ("done_late", 1, 0)),
    ("done later than the day asked about: not yet known", D(2026, 4, 14), D(2026, 4, 15), ("late", 14, 2)),
]


@pytest.mark.parametrize(("on", "done_on", "expected"), [case[1:] for case in STATUS], ids=[case[0] for case in STATUS])
def test_the_status_of_a_duty(on, done_on, expected):
    # by hand: 31 March to 14 April is 14 days, to 30 April 30 days
    done = REPORT.done + ((Done(DUE, done_on),) if done_on else ())
    found = status_of(Duty("D1", "t", REPORT.recurrence, lead_days=30, steps=STEPS[::-1], done=done), DUE, on)
    assert (found.status, found.days_late, found.level) == expected
    assert found.told == tuple(step.who for step in STEPS[: found.level])


def test_of_two_records_for_one_due_date_the_earlier_counts():
    done = (Done(DUE, D(2026, 4, 9)), Done(DUE, D(2026, 3, 30)))
    assert status_of(Duty("D1", "t", REPORT.recurrence, done=done), DUE, D(2026, 5, 1)).status == "done_on_time"


def test_duties_outlive_their_paper_and_end_when_closed():
    ended = paper(ends_on=D(2025, 12, 31))
    assert answer(papers=[ended]).verdict == "stop"
    assert [(found.due.year, found.status) for found in statuses(REPORT, D(2027, 4, 1), D(2028, 12, 31))] == [
        (2025, "done_on_time"),
        (2026, "late"),
        (2027, "late"),
        (2028, "upcoming"),
    ]
    closed = Duty("D1", "t", REPORT.recurrence, closed_on=D(2027, 3, 31))
    assert [found.due.year for found in statuses(closed, D(2027, 4, 1), D(2028, 12, 31))] == [2025, 2026, 2027]
    assert [found.due.year for found in statuses(closed, D(2027, 3, 31), D(2028, 12, 31))] == [2025, 2026, 2027]
    assert [found.due.year for found in statuses(closed, D(2027, 3, 30), D(2028, 12, 31))] == [2025, 2026, 2027, 2028]


def test_an_overdue_duty_takes_the_paper_out_until_it_is_done():
    def asked_with(duty):
        on = D(2026, 4, 20)
        return answer(asked(on=on), papers=[paper(more={"duties_overdue": overdue_titles([duty], on)})])

    late = asked_with(REPORT)
    assert late.verdict == "stop"
    assert late.findings[0].near[0].reasons[0].words == "due under it before then: Yearly report, due 31 Mar 2026"
    done = Duty("D1", "Yearly report", REPORT.recurrence, done=(*REPORT.done, Done(DUE, D(2026, 4, 19))))
    assert asked_with(done).verdict == "covered"


def test_records_that_match_no_due_date_are_handed_back():
    odd = Done(D(2026, 3, 30), D(2026, 3, 30))
    assert done_without_due(Duty("D1", "t", REPORT.recurrence, done=(*REPORT.done, odd))) == (odd,)


@pytest.mark.parametrize(
    ("on", "found"),
    [(D(2026, 7, 3), None), (D(2026, 7, 4), 180), (D(2026, 10, 2), 90), (D(2026, 12, 1), 30), (D(2026, 12, 31), 30), (D(2027, 1, 1), None)],
)
def test_notices_before_the_end_of_a_paper(on, found):
    # by hand: 4 July 2026 is 180 days before 31 December, 2 October 90, 1 December 30
    assert notice_reached(D(2026, 12, 31), (90, 180, 30), on) == found


@given(DAYS, st.integers(0, 40), st.lists(DAYS, max_size=8))
def test_working_days_are_those_of_numpy(day, amount, holidays):
    found = deadline(Clock("working_days", amount), datetime.combine(day, time(12), NEW_YORK), NEW_YORK, holidays)
    if amount:
        assert found.on == np.busday_offset(day, amount, roll="backward", holidays=holidays).astype(date)
    else:
        assert found.on == day


@pytest.mark.parametrize(
    ("clock", "discovered", "zone", "at"),
    [
        # clocks in New York went forward on 8 March 2026 at 2:00 and go back on 1 November 2026 (IANA time zone database)
        (Clock("hours", 24), "2026-03-07T20:00:00-05:00", "America/New_York", "2026-03-08T21:00:00-04:00"),
        (Clock("hours", 24), "2026-10-31T20:00:00-04:00", "America/New_York", "2026-11-01T19:00:00-05:00"),
        (Clock("hours", 0), "2026-10-31T20:00:00-04:00", "America/New_York", "2026-10-31T20:00:00-04:00"),
        (Clock("days", 1), "2026-10-31T20:00:00-04:00", "America/New_York", "2026-11-02T00:00:00-05:00"),
        (Clock("days", 1), "2026-10-31T20:00:00-04:00", "Pacific/Auckland", "2026-11-03T00:00:00+13:00"),
        (Clock("months", 6), "2026-08-31T09:00:00-04:00", "America/New_York", "2027-03-01T00:00:00-05:00"),
        (Clock("working_days", 5), "2026-10-09T23:30:00-04:00", "America/New_York", "2026-10-17T00:00:00-04:00"),
    ],
)
def test_the_clock_starts_at_discovery(clock, discovered, zone, at):
    assert deadline(clock, datetime.fromisoformat(discovered), zone).at == datetime.fromisoformat(at)


def test_the_last_day_counts_to_its_end_and_no_longer():
    limit = deadline(Clock("days", 2), datetime(2026, 10, 9, 8, 0, tzinfo=NEW_YORK), NEW_YORK)
    midnight = datetime(2026, 10, 12, tzinfo=NEW_YORK)
    assert limit == Deadline(midnight, D(2026, 10, 11), is_whole_days=True)
    assert is_in_time(limit, midnight - timedelta(seconds=1)) and not is_in_time(limit, midnight)


def test_an_hour_that_occurs_twice_is_distinguished():
    first = datetime(2026, 11, 1, 1, 30, tzinfo=NEW_YORK, fold=0)
    limit = deadline(Clock("hours", 0), first, NEW_YORK)
    assert is_in_time(limit, first) and not is_in_time(limit, first.replace(fold=1))


@pytest.mark.parametrize(("unit", "amount"), [("weeks", 1), ("days", -1)])
def test_what_is_not_a_time_limit_is_refused(unit, amount):
    with pytest.raises(ValueError, match="is not a time limit"):
        Clock(unit, amount)


def test_a_discovery_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="has no time zone"):
        deadline(Clock("hours", 24), datetime(2026, 10, 9, 8, 0), UTC)
