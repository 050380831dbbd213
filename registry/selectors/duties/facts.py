"""Duties on file as the plain values of `compliance.duties`."""

from collections import defaultdict

from registry.compliance.duties import duties as pure
from registry.compliance.duties.recurrence import Recurrence
from registry.models import Duty, DutyDone

__all__ = ["duty_fact", "duty_facts", "paper_duties"]


def duty_facts(duties=None):
    """[(Duty record, the same as a plain value)] with what was done; two queries."""
    records = list(Duty.objects.select_related("authorization", "responsible", "second") if duties is None else duties)
    done = defaultdict(list)
    rows = DutyDone.objects.filter(superseded_by__isnull=True).order_by("due_on", "pk")
    if duties is not None:
        rows = rows.filter(duty__in=[record.pk for record in records])
    for duty, due, on, evidence in rows.values_list("duty", "due_on", "done_on", "evidence"):
        done[duty].append(pure.Done(due, on, evidence))
    return [(record, duty_fact(record, done[record.pk])) for record in records]


def duty_fact(record, done=(), steps=()):
    recurrence = Recurrence(
        kind=record.recurrence,
        first_due=record.first_due_on,
        every=record.every,
        month=record.season_month,
        day=record.season_day,
        days_before=record.days_before,
        until=record.until_on,
    )
    return pure.Duty(
        code=record.code,
        title=record.title,
        recurrence=recurrence,
        paper=record.authorization.code if record.authorization_id else "",
        lead_days=record.lead_days,
        steps=tuple(steps),
        done=tuple(done),
        closed_on=record.closed_on,
    )


def paper_duties():
    """{paper key: plain duties under it}."""
    found = defaultdict(list)
    # a closed duty stops nothing: its missed days only stay on file
    running = Duty.objects.filter(authorization__isnull=False, closed_on__isnull=True).select_related("authorization")
    for record, fact in duty_facts(running):
        found[record.authorization_id].append(fact)
    return found
