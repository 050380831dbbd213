"""Records of what has happened that carry a day to come. Such a day is refused, so a clock that was ahead must have let them in."""

from functools import reduce
from typing import NamedTuple

from django.db.models import Max
from django.urls import reverse

from plantings.choices import PlantingState
from plantings.models import Observation, Planting, PlotCount, SecondMeasurement, SelfSown, Tree, TreeTag
from registry.calc.shared.screen import amount_words
from registry.models import (
    AgreementSignature,
    AuditEntry,
    DutyDone,
    IdentityEvidence,
    IdentityQuestion,
    LedgerEntry,
    Leftover,
    Lot,
    LotComponent,
    MeasuredShare,
    Rating,
    Receipt,
    RuleVerification,
    SeedTest,
    SelectionDecision,
    Shipment,
    StorageRecord,
    Treatment,
    TreeStatusRecord,
)
from registry.selectors.audit.clock import CLOCK_GRACE
from registry.selectors.duties.duty_line import Duty

__all__ = ["DATED", "Ahead", "ahead_line", "dated_ahead"]

ENTRIES_LOOKED_AT = 20_000  # of the audit trail: a clock is noticed and set right within weeks, not years


class Dated(NamedTuple):
    """The column of the day that something happened on, and the paths to the record whose page shows it: the first that there is; its own
    without one."""

    column: str
    shown_with: tuple[str, ...] = ()


# what is planned, due, a window, or the end of a paper, a link or a shelf life may well be ahead, and is not here
DATED = {
    Observation: Dated("observed_on", ("tree",)),
    PlotCount: Dated("observed_on", ("round",)),
    SelfSown: Dated("observed_on", ("round",)),
    SecondMeasurement: Dated("observed_on", ("drawn__draw",)),
    Tree: Dated("planted_on"),
    TreeTag: Dated("until_on", ("tree",)),
    Planting: Dated("planted_on"),
    LedgerEntry: Dated("on", ("lot",)),
    LotComponent: Dated("bulked_on", ("bulk",)),
    Lot: Dated("closed_on"),
    SeedTest: Dated("tested_on", ("lot",)),
    Treatment: Dated("started_on", ("lot",)),
    StorageRecord: Dated("on", ("lot",)),
    Shipment: Dated("dispatched_on"),
    Receipt: Dated("received_on"),
    Leftover: Dated("on", ("line__shipment",)),
    TreeStatusRecord: Dated("on", ("tree",)),
    Rating: Dated("rated_on", ("tree",)),
    SelectionDecision: Dated("decided_on", ("tree",)),
    MeasuredShare: Dated("sampled_on", ("tree",)),
    IdentityEvidence: Dated("on", ("tree", "lot", "pool")),
    IdentityQuestion: Dated("raised_on"),
    DutyDone: Dated("done_on", ("duty",)),
    AgreementSignature: Dated("signed_on", ("authorization",)),
    RuleVerification: Dated("verified_on", ("requirement",)),
}


class Ahead(NamedTuple):
    """A record dated ahead, its day, and the record whose page shows it."""

    record: object
    day: object
    shown_with: object


def rows_ahead(on, now):
    """{record type: its records that carry a day after `on`}, empty where no change was recorded by a clock ahead of `now`."""
    last = AuditEntry.objects.aggregate(pk=Max("pk"))["pk"] or 0
    if not AuditEntry.objects.filter(pk__gt=last - ENTRIES_LOOKED_AT, at__gt=now + CLOCK_GRACE).exists():
        return {}
    return {model: _that_count(model).filter(**{f"{dated.column}__gt": on}).order_by("pk") for model, dated in DATED.items()}


def dated_ahead(on, now, most):
    """[Ahead] of the records that carry a day after `on`, at most so many of each type."""
    return [
        Ahead(record, getattr(record, DATED[model].column), _shown_with(record, DATED[model].shown_with))
        for model, rows in rows_ahead(on, now).items()
        for record in rows[:most]
    ]


def _that_count(model):
    """What was corrected, reversed, rejected or taken back is settled; a planting that is planned may have its day ahead."""
    rows = model.objects.exclude(state=PlantingState.PLANNED) if model is Planting else model.objects.all()
    for narrower in ("in_effect", "current"):
        if hasattr(rows, narrower):
            return getattr(rows, narrower)()
    return rows.filter(superseded_by=None) if any(field.name == "supersedes" for field in model._meta.fields) else rows


def _shown_with(record, paths):
    found = (reduce(getattr, path.split("__"), record) for path in paths)
    return next((one for one in found if one is not None), record)


def ahead_line(on, now):
    """One line of Today for the records dated ahead, if there are any."""
    counts = {str(model._meta.verbose_name_plural): rows.count() for model, rows in rows_ahead(on, now).items()}
    if any(counts.values()):
        total = sum(counts.values())
        carry = "carries" if total == 1 else "carry"
        named = ", ".join(f"{kind} {number:,}" for kind, number in counts.items() if number)
        text = f"{amount_words(total, 'records')} {carry} a day that has not come: {named}. The clock of the server was ahead. Look at each"
        yield Duty("odd", text, url=reverse("today_ahead"))
