"""What needs attention on a day, by what a person may do. `on` is the day; nothing here reads a clock."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass, replace

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from plantings.models import Planting
from plantings.selectors.census.records import late_since
from plantings.selectors.overview.census_lines import asked_back_lines, second_lines, unread_lines
from plantings.selectors.overview.dated_ahead import ahead_line
from plantings.selectors.overview.load_lines import rest_lines
from plantings.selectors.overview.round_lines import SHOWN_DAYS, conflict_lines, flower_lines, round_lines
from plantings.selectors.overview.unsettled import (
    came_in_lines,
    contradiction_lines,
    ended_lines,
    odd_receipt_lines,
    to_rogue_lines,
    unaccounted_lines,
    upload_lines,
)
from plantings.selectors.plantings.plantings import plantings_listed
from plantings.selectors.plantings.unknown_plots import planted_words
from registry.access import roles
from registry.calc.shared.screen import amount_words
from registry.choices import TreeStatus
from registry.models import Lot, PedigreeTree, Person, Shipment, TreeStatusRecord
from registry.selectors.audit.backups import backup_line, last_backup
from registry.selectors.audit.clock import clock_lines
from registry.selectors.duties.due_lines import duty_lines, incident_lines, paper_lines, receipt_lines, review_lines, silent_lines
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import question_lines
from registry.selectors.jobs.jobs import job_lines
from registry.selectors.land.land import land_duties
from registry.selectors.lots.lots import USE_BY_NOTICE_DAYS
from registry.selectors.orchard.orchard import rogued_undecided
from registry.selectors.orchard.second import is_second, waiting_decisions
from registry.selectors.shared.local_words import local_count

__all__ = ["site_lines", "today_lines"]

LINES_OF_ONE_KIND = 5
_ORDER = {"late": 0, "soon": 1, "odd": 2, "info": 3}


@dataclass(frozen=True, slots=True)
class Kind:
    """Lines of one kind: who may see them (`action`), how they are read, and in which roles somebody is to do something about them.

    `owners` in this order: the first role of which somebody is active. `words` gives the kind and its number where lines are gathered,
    `route` the list they are gathered to.
    """

    action: str
    lines: Callable
    owners: tuple[str, ...]
    words: Callable
    route: str


def today_lines(user, on, now=None, since=None):
    """Lines for this person: their own first, then the programme's; of each the overdue ones first.
    A crew's open rounds come before everything else.

    One rule for every kind: a line is listed while nobody has entered the record that settles it, or, where no record can, for as many
    days as its kind says; it is overdue once its day has passed. It is a person's own when it names them, or when its kind is for
    their role. Of their own, `LINES_OF_ONE_KIND` of a kind are listed and the rest is gathered. What is for somebody else to do is one line
    of a kind for those who act in the office; for readers, such as an auditor, it is gathered when there are more.

    `now` is the moment clocks of incidents are compared with; left out, the close of the day. `since` is the `Look` of their last visit.
    """
    now = now or timezone.make_aware(datetime.datetime.combine(on + datetime.timedelta(days=1), datetime.time()))
    filled = _roles_filled(on) if user.role in roles.OFFICE else ()
    lines = list(came_in_lines(user, since))
    for kind in _KINDS:
        if user.may(kind.action):
            owner = next((role for role in kind.owners if role in filled), None)
            found = (replace(line, mine=line.mine or owner == user.role) for line in kind.lines(user, on, now))
            others = 1 if user.role in roles.OFFICE_ACTS or user.role in roles.ORCHARD_ACTS else LINES_OF_ONE_KIND
            lines.extend(_gathered(kind, sorted(found, key=_urgency), others))
    return sorted(lines, key=_urgency)


def _urgency(line):
    return not line.first, not line.mine, _ORDER[line.severity], line.due or datetime.date.max


def _roles_filled(on):
    """The roles of the people who are active on a day. One query."""
    active = Person.objects.filter(Q(left_on__isnull=True) | Q(left_on__gt=on), is_active=True)
    return set(active.order_by().values_list("role", flat=True).distinct())


def _gathered(kind, lines, most):
    """The lines of one kind: own ones first and the rest of them counted, others' all counted where they are more than `most`."""
    own, others = [line for line in lines if line.mine], [line for line in lines if not line.mine]
    yield from own[:LINES_OF_ONE_KIND]
    if rest := own[LINES_OF_ONE_KIND:]:
        yield _count_line(kind, rest, _("Not shown: %(what)s"))
    if len(others) > most:
        yield _count_line(kind, others, "%(what)s")
    else:
        yield from others


def _count_line(kind, lines, frame):
    late = sum(line.severity == "late" for line in lines)
    text = frame % {"what": kind.words(len(lines)) % {"n": local_count(len(lines))}}
    text += _(", %(n)s overdue") % {"n": local_count(late)} if late else ""
    first = min(lines, key=_urgency)
    return Duty(first.severity, text, first.due, reverse(kind.route), mine=first.mine, first=first.first)


def site_lines(user, on, now):
    """What the one who answers for Mastbook itself looks after: its clock, what a wrong one dated ahead, and its backup. Four queries for a
    lead, none for others."""
    if not user.may("lead.edit"):
        return []
    at = last_backup()
    return [*clock_lines(now), *ahead_line(on, now), backup_line(on, at and timezone.localtime(at))]


def _drafts(user, on, now):
    for shipment in Shipment.objects.for_user(user).filter(state="draft").select_related("receiver"):
        late = shipment.planned_on and shipment.planned_on < on
        text = f"Shipment {shipment.code} to {shipment.receiver.name} is a draft" + (" and its day has passed" if late else "")
        yield Duty("late" if late else "info", text, shipment.planned_on, reverse("shipment_detail", args=[shipment.pk]))


def _use_by(user, on, now):
    soon = on + datetime.timedelta(days=USE_BY_NOTICE_DAYS)
    for lot in Lot.objects.for_user(user).filter(balance__gt=0, use_by__lte=soon).order_by("use_by"):
        passed = lot.use_by < on
        text = f"Lot {lot.code}: {lot.balance:,} {lot.unit} on hand, its use-by day {'has passed' if passed else 'is near'}"
        yield Duty("late" if passed else "soon", text, lot.use_by, reverse("lot_detail", args=[lot.pk]))


def _undecided(user, on, now):
    """Trees rogued within a year, or on an unknown day, or entered so of late, without a decision of two people."""
    entered_late = Exists(TreeStatusRecord.objects.filter(tree=OuterRef("pk"), status=TreeStatus.ROGUED, entered_at__gte=late_since(on)))
    recent = Q(status_on__isnull=True) | Q(status_on__gte=on - datetime.timedelta(days=SHOWN_DAYS)) | entered_late
    trees = rogued_undecided(PedigreeTree.objects.for_user(user).filter(recent))
    number = trees.count()
    if number:
        codes = ", ".join(trees.order_by("code").values_list("code", flat=True)[:3])
        text = f"{number:,} {'tree was' if number == 1 else 'trees were'} rogued without a decision of two people: {codes}"
        yield Duty("odd", text + (" …" if number > 3 else ""), url=reverse("orchard_list"))


def _land(user, on, now):
    """What is planted on the land of a landowner contact."""
    if user.role != roles.LANDOWNER:
        return
    for planting in plantings_listed(Planting.objects.for_user(user)):
        parts = [planted_words(planting.planted_count, planting.unknown_plots, planting.trees_left_out)]
        if planting.alive_count is not None:
            words = ngettext(
                "%(n)s tree alive at the last complete census", "%(n)s trees alive at the last complete census", planting.alive_count
            )
            parts.append(words % {"n": local_count(planting.alive_count)})
        if planting.sown_alive_count is not None:
            words = ngettext("%(n)s seedling alive from sown seed", "%(n)s seedlings alive from sown seed", planting.sown_alive_count)
            parts.append(words % {"n": local_count(planting.sown_alive_count)})
        words = _("%(place)s: planting %(code)s, %(counts)s")
        text = words % {"place": planting.site.name, "code": planting.code, "counts": ", ".join(parts)}
        yield Duty("info", text, planting.planted_on, reverse("planting_detail", args=[planting.pk]))


def _unconfirmed(user, on, now):
    """Decisions that wait for their second person."""
    for decision in waiting_decisions().order_by("decided_on", "pk"):
        mine = is_second(user, decision)
        who = "your confirmation" if mine else f"{decision.second_name} to confirm"
        text = f"Decision on {decision.tree.code} ({decision.get_decision_display()}) waits for {who}"
        yield Duty("soon", text, decision.decided_on, reverse("decision_detail", args=[decision.pk]), mine=mine)


def _amount(unit, what=""):
    """The words of a kind that only the office reads."""
    return lambda count: f"{amount_words(count, unit)} {what}".replace("%", "%%").strip()


_OFFICE, _ORCHARD, _LEAD = roles.OFFICE_ACTS, roles.ORCHARD_ACTS, (roles.LEAD,)
_KINDS = (
    Kind(
        "duty.view", lambda user, on, now: duty_lines(user, on), (),
        lambda count: ngettext("%(n)s duty due", "%(n)s duties due", count), "duty_list",
    ),
    Kind("incident.view", lambda user, on, now: incident_lines(user, now), (), _amount("clocks", "of incidents"), "incident_list"),
    Kind(
        "shipment.view", lambda user, on, now: receipt_lines(user, on), _OFFICE,
        lambda count: ngettext("%(n)s shipment without a receipt", "%(n)s shipments without a receipt", count), "shipment_list",
    ),
    Kind("shipment.edit", _drafts, _OFFICE, _amount("shipments", "still drafts"), "shipment_list"),
    Kind(
        "shipment.edit", lambda user, on, now: odd_receipt_lines(user, on), _OFFICE,
        _amount("shipments", "that arrived damaged, spoiled or short"), "receipt_list",
    ),
    Kind(
        "leftover.enter", lambda user, on, now: unaccounted_lines(user, on), _OFFICE,
        _amount("lots", "received and not accounted for"), "shipment_list",
    ),
    Kind("lot.view", _use_by, (roles.MANAGER, *_OFFICE), _amount("lots", "near or past the use-by day"), "lot_list"),
    Kind("authorization.view", lambda user, on, now: paper_lines(user, on), _OFFICE, _amount("papers", "that end"), "authorization_list"),
    Kind(
        "authorization.view", lambda user, on, now: ended_lines(user, on), _OFFICE,
        _amount("papers", "that ended and are needed"), "authorization_list",
    ),
    Kind(
        "rule.view", lambda user, on, now: review_lines(user, on), _OFFICE,
        _amount("reviews", "of rules and papers with the authority"), "requirement_list",
    ),
    Kind("rule.view", lambda user, on, now: silent_lines(user, on), _OFFICE, _amount("rules", "that never apply"), "requirement_list"),
    Kind("round.view", round_lines, _OFFICE, lambda count: ngettext("%(n)s round open", "%(n)s rounds open", count), "round_list"),
    Kind("rule.view", flower_lines, _OFFICE, _amount("plantings", "with trees in flower"), "planting_list"),
    Kind(
        "observation.review", lambda user, on, now: unread_lines(user), _OFFICE, _amount("rounds", "with records to review"), "round_list",
    ),
    Kind(
        "census.enter", lambda user, on, now: asked_back_lines(user), (),
        lambda count: ngettext("%(n)s round with questions of the office", "%(n)s rounds with questions of the office", count),
        "round_list",
    ),
    Kind(
        "census.enter", lambda user, on, now: second_lines(user), (),
        lambda count: ngettext("%(n)s second measurement to take", "%(n)s second measurements to take", count), "round_list",
    ),
    Kind("observation.correct", conflict_lines, _OFFICE, _amount("rounds", "with records that do not agree"), "round_list"),
    Kind(
        "identity.view", lambda user, on, now: question_lines(user, None), _LEAD, _amount("questions of identity", "open"),
        "identityquestion_list",
    ),
    Kind(
        "identity.view", lambda user, on, now: contradiction_lines(user), _ORCHARD,
        _amount("records", "with evidence against their identity"), "identityquestion_list",
    ),
    Kind("decision.enter", _undecided, _LEAD, _amount("lines"), "orchard_list"),
    Kind("decision.enter", _unconfirmed, (), _amount("decisions", "to confirm"), "decision_list"),
    Kind("status.enter", lambda user, on, now: to_rogue_lines(user, on), _ORCHARD, _amount("lines"), "orchard_list"),
    Kind(
        "landnotice.view", lambda user, on, now: land_duties(user, on, None), _OFFICE,
        _amount("messages", "and agreements of landowners"), "landnotice_list",
    ),
    Kind("job.view", job_lines, (), _amount("jobs", "under way or ready"), "job_list"),
    Kind("import.run", lambda user, on, now: upload_lines(user, on), (), _amount("sheets", "uploaded and not saved"), "sheet_list"),
    Kind("import.run", lambda user, on, now: rest_lines(user), (), _amount("loads", "with rows to correct"), "load_list"),
    Kind(
        "planting.view", _land, (),
        lambda count: ngettext("%(n)s planting on your land", "%(n)s plantings on your land", count), "planting_list",
    ),
)  # fmt: skip
