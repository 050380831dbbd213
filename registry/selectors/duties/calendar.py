"""What is due on which day: duties, clocks of incidents, ends and reviews of papers, reviews of rules, use-by days of lots."""

import datetime
from dataclasses import dataclass

from django.db.models import Count, Max, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext

from registry.access import roles
from registry.calc.shared.iso import compact_day
from registry.calc.shared.screen import day_words
from registry.choices import AuthorizationState
from registry.compliance.duties.duties import LATE, STATUSES
from registry.models import AuditEntry, Authorization, Duty, Incident, Lot, Requirement
from registry.selectors.duties.dates import dates_unclosed, with_done
from registry.selectors.duties.due_lines import REVIEW_NOTICE_DAYS
from registry.selectors.duties.incidents import incident_clocks, with_clocks, zoned_words
from registry.selectors.permits.as_of import end_ahead, with_state_on

__all__ = ["CalendarEntry", "Change", "last_changes", "registry_entries"]

DUTY, INCIDENT, PAPER, REVIEW, LOT, CENSUS = "duty", "incident", "paper", "review", "lot", "census"
END_DAYS, USE_BY_DAYS = (90, 30), (14,)  # of notice before a paper ends, a lot must be used: common practice, no source
_RENEW = "Next: ask about a renewal in time. After this day nothing new is shipped or planted under it; its duties continue."


@dataclass(frozen=True, slots=True)
class CalendarEntry:
    """One thing on one day or several.

    `key` is the same whenever it is read. `records` are (type, pk) of what its words and days were taken from; `state` and `is_late` may
    change with the day it is read on, the rest only with these. `about` says what it is, a line each, and `step` what comes next;
    `notice` is how many days before to remind; `at` is the moment where a day is not enough. `mine`: it belongs in this person's own
    calendar.
    """

    key: str
    kind: str
    title: str
    first: datetime.date
    last: datetime.date
    records: tuple[tuple[str, int], ...]
    url: str = ""
    state: str = ""
    is_late: bool = False
    is_done: bool = False
    is_cancelled: bool = False
    mine: bool = False
    about: tuple[str, ...] = ()
    step: str = ""
    notice: tuple[int, ...] = ()
    at: datetime.datetime | None = None

    @property
    def lines(self):
        """What it is and, while somebody is to do something about it, what comes next."""
        return self.about if self.is_done or self.is_cancelled else tuple(filter(None, (*self.about, self.step)))


@dataclass(frozen=True, slots=True)
class Change:
    """How often a record was changed, and when last."""

    count: int
    at: datetime.datetime


def registry_entries(user, first, last, on):
    """Entries from `first` to `last` that this person may see, as of a day: [CalendarEntry]. Nine queries at most."""
    gathered = (
        ("duty.view", _duties),
        ("incident.view", _incidents),
        ("authorization.view", _papers),
        ("rule.view", _rules),
        ("lot.view", _lots),
    )
    return [entry for action, gather in gathered if user.may(action) for entry in gather(user, first, last, on)]


def _duties(user, first, last, on):
    for duty in with_done(Duty.objects.for_user(user).filter(first_due_on__lte=last)):
        mine = user.pk in (duty.responsible_id, duty.second_id)
        paper = duty.authorization
        about = _lines(
            duty.get_kind_display(),
            gettext("Under %(title)s (%(paper)s)") % {"title": paper.title, "paper": paper.code} if paper else "",
            gettext("Evidence: %(evidence)s") % {"evidence": duty.evidence_wanted} if duty.evidence_wanted else "",
        )
        step = gettext("Next: do it, then enter it with its evidence on the page of the duty.")
        records = (("duty", duty.pk), *((("authorization", paper.pk),) if paper else ()))
        for status in dates_unclosed(duty, on, last):
            if status.due < first:
                continue
            ended = duty.closed_on is not None and status.done_on is None
            state = gettext("closed") if ended else gettext(STATUSES[status.status])
            yield CalendarEntry(
                f"duty-{duty.pk}-{compact_day(status.due)}", DUTY, f"{duty.title} ({duty.code})", status.due, status.due,
                records, reverse("duty_detail", args=[duty.pk]), state, is_late=status.status == LATE and not ended,
                is_done=status.done_on is not None, is_cancelled=ended, mine=mine, about=about, step=step,
                notice=_notice(duty.lead_days, 1),
            )  # fmt: skip


def _incidents(user, first, last, on):
    """The clocks of incidents; late from the day after, since a calendar knows days only."""
    morning = datetime.datetime.combine(on, datetime.time.min, timezone.get_current_timezone())
    for incident in with_clocks(Incident.objects.for_user(user).filter(authorizations__clocks__isnull=False).distinct()):
        for state in incident_clocks(incident, morning):
            day, clock = state.limit.on, state.clock
            if not first <= day <= last:
                continue
            about = _lines(
                f"{incident.title}: found {zoned_words(incident.found_at)}",
                f"Under {state.paper.title} ({state.paper.code})",
                f"As the paper says: {clock.as_written}" if clock.as_written else "",
            )
            yield CalendarEntry(
                f"incident-{incident.pk}-{clock.pk}", INCIDENT, f"Incident {incident.code}: {clock.title}, tell {clock.tell}", day, day,
                (("incident", incident.pk), ("authorization", state.paper.pk)), reverse("incident_detail", args=[incident.pk]),
                "" if state.is_running else "told", is_late=state.is_running and state.late_by is not None,
                is_done=not state.is_running, mine=user.role in roles.STAFF, about=about,
                step=f"Next: tell {clock.tell}, then enter who was told on the page of the incident.", notice=(1, 0),
                at=None if state.limit.is_whole_days else state.limit.at,
            )  # fmt: skip


def _papers(user, first, last, on):
    near = Q(ends_on__range=(first, last)) | Q(ends_then__range=(first, last)) | Q(review_by__range=(first, last))
    papers = with_state_on(Authorization.objects.for_user(user), on).filter(near)
    for paper in papers.exclude(state_then=AuthorizationState.DRAFT):
        mine = user.role in roles.STAFF or user.pk in (paper.holder_account_id, paper.second_account_id)
        closed = paper.state_then == AuthorizationState.CLOSED
        url = reverse("authorization_detail", args=[paper.pk])
        of = f"{paper.get_type_display()} of {paper.issuer}{f', {paper.issuer_reference}' if paper.issuer_reference else ''}"
        for key, what, day in (("end", "ends", end_ahead(paper)), ("review", "to review", paper.review_by)):
            if day and first <= day <= last:
                state = "closed" if closed else "ended; its duties continue" if key == "end" and day < on else ""
                step = _RENEW if key == "end" else f"Next: ask {paper.issuer} whether it still holds, and enter the answer."
                yield CalendarEntry(
                    f"paper-{paper.pk}-{key}", PAPER if key == "end" else REVIEW, f"{paper.title} ({paper.code}) {what}", day, day,
                    (("authorization", paper.pk),), url, state, is_late=key == "review" and day < on and not closed,
                    is_cancelled=closed, mine=mine, about=(of,), step=step,
                    notice=END_DAYS if key == "end" else (REVIEW_NOTICE_DAYS,),
                )  # fmt: skip


def _rules(user, first, last, on):
    for rule in Requirement.objects.for_user(user).filter(review_by__range=(first, last)):
        ended = rule.until_on is not None and rule.until_on < rule.review_by
        yield CalendarEntry(
            f"rule-{rule.pk}-review", REVIEW, f"Rule to review: {rule.title} ({rule.code})", rule.review_by, rule.review_by,
            (("requirement", rule.pk),), reverse("requirement_detail", args=[rule.pk]), is_late=rule.review_by < on and not ended,
            is_cancelled=ended, mine=user.role in roles.STAFF, notice=(REVIEW_NOTICE_DAYS,),
            about=(f"Last verified on {day_words(rule.verified_on)}" if rule.verified_on else "Not verified yet",),
            step="Next: ask the authority whether the text still holds, and enter who answered.",
        )  # fmt: skip


def _lots(user, first, last, on):
    for lot in Lot.objects.for_user(user).filter(balance__gt=0, use_by__range=(first, last)):
        yield CalendarEntry(
            f"lot-{lot.pk}-use-by", LOT, f"Use-by day of lot {lot.code}", lot.use_by, lot.use_by, (("lot", lot.pk),),
            reverse("lot_detail", args=[lot.pk]), f"{lot.balance:,} {lot.unit} on hand", is_late=lot.use_by < on,
            mine=user.role == roles.MANAGER, step="Next: use or test it before this day, or set a new day with a reason.",
            notice=USE_BY_DAYS,
        )  # fmt: skip


def _lines(*words):
    return tuple(filter(None, (line.strip() for line in words)))


def _notice(*days):
    """Days of notice, each once, the longest first."""
    return tuple(sorted(set(days), reverse=True))


def last_changes(entries):
    """{key of an entry: Change} by the audit entries of the records behind it; one query for each type of record."""
    wanted = {}
    for entry in entries:
        for record_type, pk in entry.records:
            wanted.setdefault(record_type, set()).add(pk)
    found = {}
    for record_type, ids in wanted.items():
        rows = AuditEntry.objects.filter(record_type=record_type, record_id__in=ids).order_by().values("record_id")
        for row in rows.annotate(count=Count("pk"), at=Max("at")):
            found[record_type, row["record_id"]] = Change(row["count"], row["at"])
    changes = {}
    for entry in entries:
        known = [found[record] for record in entry.records if record in found]
        if known:
            changes[entry.key] = Change(sum(change.count for change in known), max(change.at for change in known))
    return changes
