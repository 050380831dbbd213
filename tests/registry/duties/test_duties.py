"""Duties: who may be named, when they fall due, done with evidence, corrected, closed, and whom a late one escalates to."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from registry.models import AuditEntry, Duty, DutyDone
from registry.selectors.duties.dates import (
    done_astray,
    duty_dates,
    escalation_words,
    is_own,
    next_date,
    open_dates,
    recurrence_words,
    with_done,
)  # fmt: skip
from registry.services.duties.duties import duty_close, duty_done_correct, duty_done_enter, duty_save
from registry.services.permits.authorizations import authorization_state_set
from tests import factories

pytestmark = pytest.mark.django_db
DAY = datetime.date


def read(record):
    return with_done(Duty.objects.filter(pk=record.pk)).get()


def states(record, on, until):
    return [(status.due, status.status) for status in duty_dates(read(record), on, until)]


def done(record, due, on=None, **fields):
    fields = {"by": "A. Person", "evidence": "letter 12"} | fields
    return duty_done_enter(actor=factories.person(), duty=record, due_on=due, done_on=on or due, **fields)


def test_a_duty_gets_the_next_free_code_and_leaves_who_and_when():
    lead = factories.person()
    first, second = factories.duty(actor=lead), factories.duty(code="D-2")
    third = factories.duty()
    assert (first.code, second.code, third.code) == ("D-1", "D-2", "D-3")
    assert (first.entered_by, first.entered_at.date()) == (lead, timezone.now().date())
    assert AuditEntry.objects.filter(verb="duty.added", record_id=first.pk, actor=lead).exists()


def test_the_status_of_a_duty_changes_on_the_boundary_days():
    record = factories.duty(first_due_on=DAY(2026, 12, 31), lead_days=30)
    standing = {
        on: states(record, on, DAY(2027, 12, 31))[0][1] for on in (DAY(2026, 11, 30), DAY(2026, 12, 1), DAY(2026, 12, 31), DAY(2027, 1, 1))
    }
    assert list(standing.values()) == ["upcoming", "due", "due", "late"]


def test_a_duty_of_29_february_is_due_on_the_28th_in_other_years():
    # RFC 5545, 3.3.10: a yearly rule on 29 February skips common years; a duty must not. Last day of the month: common practice, no source.
    record = factories.duty(recurrence="years", first_due_on=DAY(2024, 2, 29))
    days = [due for due, _state in states(record, DAY(2024, 1, 1), DAY(2028, 12, 31))]
    assert days == [DAY(2024, 2, 29), DAY(2025, 2, 28), DAY(2026, 2, 28), DAY(2027, 2, 28), DAY(2028, 2, 29)]


@pytest.mark.parametrize(
    ("fields", "words", "days"),
    [
        ({"recurrence": "months", "every": 6}, "every 6 months from 31 Aug 2026", [DAY(2026, 8, 31), DAY(2027, 2, 28), DAY(2027, 8, 31)]),
        ({"recurrence": "months", "every": 1, "until_on": DAY(2026, 10, 1)}, "every month from 31 Aug 2026, until 1 Oct 2026",
         [DAY(2026, 8, 31), DAY(2026, 9, 30)]),
        ({"recurrence": "yearly_on"}, "every year on 31 Aug", [DAY(2026, 8, 31), DAY(2027, 8, 31)]),
        ({"recurrence": "yearly_on", "season_month": 2, "season_day": 29}, "every year on 29 Feb", [DAY(2027, 2, 28)]),
        ({"recurrence": "before_season", "season_month": 6, "season_day": 15, "days_before": 14}, "every year, 14 days before 15 Jun",
         [DAY(2027, 6, 1)]),
        ({"recurrence": "once"}, "once, on 31 Aug 2026", [DAY(2026, 8, 31)]),
    ],
)  # fmt: skip
def test_recurrences_have_plain_words_and_the_right_days(fields, words, days):
    record = factories.duty(first_due_on=DAY(2026, 8, 31), **fields)
    assert recurrence_words(record) == words
    assert [due for due, _state in states(record, DAY(2026, 1, 1), DAY(2027, 12, 31))] == days


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"recurrence": "before_season", "season_month": 6, "season_day": 31, "days_before": 3}, "season_day"),
        ({"recurrence": "before_season", "season_month": 6, "season_day": 15}, "season_day"),
        ({"recurrence": "before_season", "days_before": 3}, "season_day"),
        ({"recurrence": "months", "every": 0}, "every"),
        ({"until_on": DAY(2020, 1, 1)}, "until_on"),
    ],
)
def test_a_recurrence_with_parts_that_do_not_fit_is_refused(fields, field):
    with pytest.raises(ValidationError) as refused:
        factories.duty(**fields)
    assert field in refused.value.message_dict


def test_people_who_cannot_do_a_duty_are_refused():
    lead = factories.person()
    for fields, field in (
        ({"responsible": factories.person("auditor")}, "responsible"),
        ({"responsible": factories.person("landowner")}, "responsible"),
        ({"second": factories.person("volunteer")}, "second"),
        ({"responsible": lead, "second": lead}, "second"),
    ):
        with pytest.raises(ValidationError) as refused:
            factories.duty(**fields)
        assert list(refused.value.message_dict) == [field]


def test_done_needs_evidence_a_due_date_and_a_day_that_has_come():
    record = factories.duty(first_due_on=DAY(2020, 5, 1))
    tomorrow = timezone.localdate() + datetime.timedelta(days=1)
    for due, on, fields, field in (
        (DAY(2020, 5, 2), None, {}, "due_on"),
        (DAY(2020, 5, 1), tomorrow, {}, "done_on"),
        (DAY(2020, 5, 1), None, {"evidence": " "}, "evidence"),
    ):
        with pytest.raises(ValidationError) as refused:
            done(record, due, on, **fields)
        assert field in refused.value.message_dict
    assert not DutyDone.objects.exists()


def test_done_the_day_after_the_due_date_is_one_day_late():
    record = factories.duty(recurrence="years", first_due_on=DAY(2020, 5, 1))
    done(record, DAY(2020, 5, 1))
    done(record, DAY(2021, 5, 1), DAY(2021, 5, 2))
    found = duty_dates(read(record), DAY(2022, 4, 30), DAY(2022, 5, 1))
    assert [(status.status, status.days_late) for status in found] == [("done_on_time", 0), ("done_late", 1), ("due", 0)]


def test_the_same_due_date_is_not_done_twice():
    record = factories.duty(first_due_on=DAY(2020, 5, 1))
    done(record, DAY(2020, 5, 1))
    with pytest.raises(ValidationError, match="was recorded as done on 1 May 2020"):
        done(record, DAY(2020, 5, 1), DAY(2020, 5, 3))
    assert record.done.count() == 1


def test_a_correction_replaces_the_record_and_both_stay():
    record = factories.duty(first_due_on=DAY(2020, 5, 1))
    old = done(record, DAY(2020, 5, 1), content=b"%PDF-1.7 proof", filename="proof.pdf")
    newer = duty_done_correct(
        actor=factories.person(),
        record=old,
        due_on=DAY(2020, 5, 1),
        done_on=DAY(2020, 5, 9),
        by="B",
        evidence="letter 13",
        reason="misread",
    )
    assert states(record, DAY(2020, 6, 1), DAY(2020, 6, 1)) == [(DAY(2020, 5, 1), "done_late")]
    assert (record.done.count(), newer.supersedes, newer.file.filename) == (2, old, "proof.pdf")
    entry = AuditEntry.objects.get(verb="duty.corrected_what_was_done")
    assert (entry.reason, entry.changes["done_on"]) == ("misread", ["2020-05-01", "2020-05-09"])
    with pytest.raises(ValidationError, match="Somebody has corrected this record already"):
        duty_done_correct(
            actor=factories.person(), record=old, due_on=old.due_on, done_on=old.done_on, by="C", evidence="x", reason="again"
        )
    with pytest.raises(ValidationError) as refused:
        duty_done_correct(actor=factories.person(), record=newer, due_on=old.due_on, done_on=old.done_on, by="C", evidence="x", reason=" ")
    assert "reason" in refused.value.message_dict


def test_a_done_record_on_a_former_due_date_is_pointed_out():
    record = factories.duty(recurrence="years", first_due_on=DAY(2020, 5, 1))
    stray = done(record, DAY(2021, 5, 1))
    record.first_due_on = DAY(2020, 6, 1)
    duty_save(actor=factories.person(), duty=record, reason="the office moved it")
    assert done_astray(read(record), DAY(2022, 1, 1)) == [stray]
    assert AuditEntry.objects.get(verb="duty.changed").reason == "the office moved it"


@pytest.mark.parametrize("state", ["expired", "suspended", "closed"])
def test_a_duty_continues_in_every_state_of_its_paper(state):
    lead = factories.person()
    paper = factories.authorization(actor=lead, state="in_force", starts_on=DAY(2019, 1, 1), ends_on=DAY(2020, 12, 31))
    record = factories.duty(authorization=paper, recurrence="years", first_due_on=DAY(2020, 10, 1))
    authorization_state_set(actor=lead, paper=paper, state=state, on=timezone.localdate())
    assert [date.due.year for date in open_dates([read(record)], DAY(2023, 1, 1))] == [2020, 2021, 2022]


def test_only_closing_with_a_reason_ends_a_duty():
    record = factories.duty(recurrence="years", first_due_on=DAY(2020, 5, 1))
    with pytest.raises(ValidationError) as refused:
        duty_close(actor=factories.person(), duty=record, closed_on=DAY(2021, 6, 1), reason=" ")
    assert "reason" in refused.value.message_dict
    duty_close(actor=factories.person(), duty=record, closed_on=DAY(2021, 6, 1), reason="released by letter 14")
    assert open_dates([read(record)], DAY(2023, 1, 1)) == []
    assert next_date(read(record), DAY(2023, 1, 1)) is None
    assert states(record, DAY(2023, 1, 1), DAY(2023, 1, 1)) == [(DAY(2020, 5, 1), "late"), (DAY(2021, 5, 1), "late")]
    with pytest.raises(ValidationError, match="nothing falls due after that"):
        done(read(record), DAY(2022, 5, 1))
    with pytest.raises(ValidationError, match="It was closed on 1 Jun 2021"):
        duty_close(actor=factories.person(), duty=record, closed_on=DAY(2022, 6, 1), reason="again")
    # as it was before it was closed
    assert [date.due for date in open_dates([read(record)], DAY(2020, 6, 1))] == [DAY(2020, 5, 1)]


def test_a_late_duty_escalates_from_person_to_lead():
    responsible, second = factories.person("volunteer"), factories.person("manager")
    coordinator, lead, other = factories.person("coordinator"), factories.person("lead"), factories.person("volunteer")
    record = read(factories.duty(first_due_on=DAY(2026, 3, 1), responsible=responsible, second=second))

    def told(days):
        return open_dates([record], DAY(2026, 3, 1) + datetime.timedelta(days=days))[0].status.told

    everybody = ("responsible person", "second person", "coordinators", "programme lead")
    assert [len(told(days)) for days in (0, 1, 6, 7, 13, 14, 29, 30)] == [0, 1, 1, 2, 2, 3, 3, 4]
    assert told(30) == everybody
    own = {days: [is_own(open_dates([record], DAY(2026, 3, 1) + datetime.timedelta(days=days))[0], who)
                  for who in (responsible, second, coordinator, lead, other)] for days in (1, 14, 30)}  # fmt: skip
    assert own == {1: [True, True, False, False, False], 14: [True, True, True, False, False], 30: [True, True, True, True, False]}


def test_coordinators_replace_a_person_not_named_or_gone():
    gone = factories.person("volunteer", left_on=DAY(2026, 3, 1))
    record = factories.duty(first_due_on=DAY(2026, 3, 1), responsible=gone)
    assert open_dates([read(record)], DAY(2026, 3, 2))[0].status.told == ("coordinators",)
    assert open_dates([read(record)], DAY(2026, 4, 1))[0].status.told == ("coordinators", "programme lead")
    assert escalation_words(read(record), DAY(2026, 3, 2)) == "the coordinators from 1 day overdue, the programme lead from 30 days overdue"


def test_the_next_date_skips_what_was_done_ahead():
    record = factories.duty(recurrence="years", first_due_on=DAY(2020, 5, 1))
    done(record, DAY(2020, 5, 1), DAY(2019, 12, 1))
    done(record, DAY(2021, 5, 1), DAY(2019, 12, 1))
    assert next_date(read(record), DAY(2020, 1, 1)).due == DAY(2022, 5, 1)


def test_open_dates_need_two_queries_for_any_number():
    for _ in range(5):
        record = factories.duty(recurrence="months", first_due_on=DAY(2020, 1, 1), authorization=factories.authorization())
        done(record, DAY(2020, 1, 1))
    with CaptureQueriesContext(connection) as captured:
        dates = open_dates(with_done(Duty.objects.all()), DAY(2020, 3, 15))
        assert [str(date.duty.authorization and date.duty.responsible) for date in dates] == ["None"] * 15
    assert len(captured) == 2
