"""What papers ask a person to do: lines for Today and for the weekly mail. Nothing here reads a clock."""

import datetime

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from registry.access import roles
from registry.calc.shared.screen import amount_words
from registry.choices import AuthorizationState, ProgrammeKey
from registry.compliance.duties.duties import notice_reached
from registry.models import Authorization, Duty, Requirement, Shipment
from registry.selectors.duties.dates import NOBODY, is_own, open_dates, with_done
from registry.selectors.duties.duty_line import Duty as Line
from registry.selectors.duties.incidents import clock_line, running_clocks
from registry.selectors.gate.silent_rules import silent_rules
from registry.selectors.people.programme import setting
from registry.selectors.permits.as_of import end_ahead, with_state_on
from registry.selectors.permits.authorizations import END_NOTICE_DAYS

__all__ = ["END_NOTICES", "duty_line", "duty_lines", "incident_lines", "paper_lines", "receipt_lines", "review_lines", "silent_lines"]

END_NOTICES = (180, 90, 30)  # days before the end; common practice, no source
REVIEW_NOTICE_DAYS = 30  # common practice, no source
_ENDED_STEP = "Ask {issuer} about a renewal, or close it. Nothing new is shipped or planted under it."
_ENDING_STEP = "Ask {issuer} about a renewal in time, or plan what is done before that day."


def duty_lines(user, on, within_days=0, *, own_only=False):
    """What is overdue or due of the duties a person sees, their own first; escalated ones say who was told. Two queries."""
    dates = open_dates(with_done(Duty.objects.for_user(user).filter(closed_on__isnull=True)), on, within_days)
    lines = [duty_line(date, user, on) for date in dates]
    return sorted((line for line in lines if line.mine or not own_only), key=lambda line: not line.mine)


def duty_line(date, user, on, *, with_paper=True):
    """An open date of a duty as a line of what is due."""
    duty, status = date.duty, date.status
    days = (status.due - on).days
    paper = f" ({duty.authorization.code})" if with_paper and duty.authorization else ""
    if date.is_late:
        when = ngettext("overdue by %(n)s day", "overdue by %(n)s days", status.days_late) % {"n": f"{status.days_late:,}"}
    else:
        when = ngettext("due in %(n)s day", "due in %(n)s days", days) % {"n": f"{days:,}"} if days else _("due today")
    who = str(duty.responsible or _(NOBODY))
    if status.level > 1:
        who = _("%(who)s, escalated to the %(told)s") % {"who": who, "told": _(status.told[-1])}
    elif duty.responsible_id == user.pk:
        who = ""
    url = reverse("duty_detail", args=[duty.pk])
    text = f"{duty.title}{paper}: {when}"
    return Line("late" if date.is_late else "soon", text, status.due, url, who, is_own(date, user), step=_duty_step(duty, user))


def _duty_step(duty, user):
    """What the person who reads it does next: the duty itself, or asking whoever is responsible for it."""
    if duty.responsible_id and user.pk not in (duty.responsible_id, duty.second_id):
        return _("Ask %(person)s what holds it up, or name somebody else.") % {"person": duty.responsible}
    if not duty.evidence_wanted:
        return _("Do it, then enter it with its evidence.")
    return _("Do it, then enter it with its evidence: %(evidence)s.") % {"evidence": duty.evidence_wanted.rstrip(".")}


def _days(count):
    return amount_words(count, "days")


def incident_lines(user, now):
    """The clocks of incidents without a notice. Four queries."""
    return [clock_line(state, mine=user.role in roles.STAFF) for state in running_clocks(user, now)]


def paper_lines(user, on, *, own_only=False):
    """Papers in force that end soon or have ended. One query."""
    soon = on + datetime.timedelta(days=END_NOTICE_DAYS)
    papers = with_state_on(Authorization.objects.for_user(user), on).filter(Q(ends_on__lte=soon) | Q(ends_then__lte=soon))
    papers = papers.filter(state_then=AuthorizationState.IN_FORCE)
    if own_only and user.role not in roles.STAFF:
        papers = papers.filter(Q(holder_account=user) | Q(second_account=user))
    ends = [(end, paper) for paper in papers.order_by("ends_on", "pk") if (end := end_ahead(paper)) and end <= soon]
    for end, paper in sorted(ends, key=lambda pair: pair[0]):
        step = notice_reached(end, END_NOTICES, on)
        within = f", within {_days(step)}" if step and step < max(END_NOTICES) else ""
        what = "ended; its duties continue" if step is None else f"ends soon{within}"
        text = f"{paper.code} {paper.title} {what}. Check with the local authority"
        url = reverse("authorization_detail", args=[paper.pk])
        mine = user.pk in (paper.holder_account_id, paper.second_account_id)
        after = _ENDED_STEP if step is None else _ENDING_STEP
        yield Line("late" if step is None else "soon", text, end, url, mine=mine, step=after.format(issuer=paper.issuer))


def review_lines(user, on):
    """Rules and papers to ask the authority about again. Two queries."""
    soon = on + datetime.timedelta(days=REVIEW_NOTICE_DAYS)
    rules = Requirement.objects.for_user(user).filter(review_by__lte=soon).exclude(until_on__lt=on)
    for rule in rules.order_by("review_by"):
        asked = rule.verified_with or "the authority"
        yield _review_line(f"Rule {rule.code} {rule.title}", rule.review_by, reverse("requirement_detail", args=[rule.pk]), on, asked)
    papers = with_state_on(Authorization.objects.for_user(user), on).filter(review_by__lte=soon)
    papers = papers.exclude(state_then=AuthorizationState.CLOSED)
    for paper in papers.order_by("review_by"):
        url = reverse("authorization_detail", args=[paper.pk])
        yield _review_line(f"{paper.code} {paper.title}", paper.review_by, url, on, paper.issuer)


def _review_line(what, day, url, on, asked):
    late = day < on
    text = f"{what}: ask the authority again{', overdue' if late else ''}"
    return Line("late" if late else "soon", text, day, url, step=f"Ask {asked} whether it still holds, and enter the answer.")


def silent_lines(user, on):
    """Rules that can apply to nothing on file, as they are written. Three queries."""
    for rule, faults in silent_rules(on) if user.may("rule.edit") else ():
        url = reverse("requirement_detail", args=[rule.pk])
        yield Line("odd", f"Rule {rule.code} {rule.title} never applies. {' '.join(faults)}", None, url)


def receipt_lines(user, on):
    """Dispatched shipments without a receipt. Two queries."""
    expected_days = setting(ProgrammeKey.RECEIPT_DAYS)
    shipments = Shipment.objects.for_user(user).select_related("receiver").unreceived()
    for shipment in shipments.order_by("dispatched_on"):
        days = (on - shipment.dispatched_on).days
        text = ngettext(
            "Shipment %(code)s to %(receiver)s has no receipt after %(n)s day",
            "Shipment %(code)s to %(receiver)s has no receipt after %(n)s days",
            days,
        ) % {"code": shipment.code, "receiver": shipment.receiver.name, "n": f"{days:,}"}
        severity = "late" if days > expected_days else "soon"
        step = _("Ask %(who)s whether it arrived, and have the receipt entered.") % {
            "who": shipment.receiving_person or shipment.receiver.name
        }
        yield Line(severity, text, shipment.dispatched_on, reverse("shipment_detail", args=[shipment.pk]), step=step)
