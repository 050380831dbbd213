"""What needs attention on a day, by what a person may do. `on` is the day; nothing here reads a clock."""

import datetime

from django.db.models import Count, Min, Q
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from plantings.models import CensusRound, Observation, Planting
from plantings.selectors.census.records import trees_recorded_differently
from plantings.selectors.census.rounds import expected, rounds_with_progress
from plantings.selectors.plantings.plantings import plantings_listed
from registry.access import roles
from registry.calc.shared.screen import amount_words, day_words
from registry.models import Lot, PedigreeTree, Shipment
from registry.selectors.audit.backups import backup_line, last_backup
from registry.selectors.audit.clock import clock_lines
from registry.selectors.duties.due_lines import duty_lines, incident_lines, paper_lines, receipt_lines, review_lines, silent_lines
from registry.selectors.duties.duty_line import Duty
from registry.selectors.identity.questions import question_lines
from registry.selectors.land.land import land_duties
from registry.selectors.lots.lots import USE_BY_NOTICE_DAYS
from registry.selectors.orchard.orchard import rogued_undecided
from registry.selectors.orchard.second import is_second, waiting_decisions

__all__ = ["crew_round", "site_lines", "today_lines"]

LINES_OF_ONE_KIND = 10
FLOWERS_SHOWN_DAYS = 60
UNDECIDED_SHOWN_DAYS = 365


def today_lines(user, on, now=None):
    """Lines for this person: their own first, then the programme's; of each the late ones first.
    A crew's open rounds come before everything else.

    `now` is the moment clocks of incidents are compared with; left out, the close of the day.
    """
    lines = []
    now = now or timezone.make_aware(datetime.datetime.combine(on + datetime.timedelta(days=1), datetime.time()))
    for action, gather in _GATHERED:
        if user.may(action):
            lines.extend(gather(user, on, now))
    order = {"late": 0, "soon": 1, "odd": 2, "info": 3}
    return sorted(lines, key=lambda line: (not line.first, not line.mine, order[line.severity], line.due or datetime.date.max))


def site_lines(user, on, now):
    """What the one who answers for the site itself looks after: its clock and its backup. Two queries for a lead, none for others."""
    if not user.may("lead.edit"):
        return []
    at = last_backup()
    return [*clock_lines(now), backup_line(on, at and timezone.localtime(at))]


def _shipments(user, on, now):
    yield from _first(receipt_lines(user, on), reverse("shipment_list"), _("shipments without a receipt"))


def _drafts(user, on, now):
    for shipment in Shipment.objects.for_user(user).filter(state="draft").select_related("receiver")[:LINES_OF_ONE_KIND]:
        late = shipment.planned_on and shipment.planned_on < on
        text = f"Shipment {shipment.code} to {shipment.receiver.name} is a draft" + (" and its day has passed" if late else "")
        yield Duty("late" if late else "info", text, shipment.planned_on, reverse("shipment_detail", args=[shipment.pk]))


def _use_by(user, on, now):
    soon = on + datetime.timedelta(days=USE_BY_NOTICE_DAYS)
    for lot in Lot.objects.for_user(user).filter(balance__gt=0, use_by__lte=soon).order_by("use_by")[:LINES_OF_ONE_KIND]:
        passed = lot.use_by < on
        text = f"Lot {lot.code}: {lot.balance:,} {lot.unit} on hand, its use-by day {'has passed' if passed else 'is near'}"
        yield Duty("late" if passed else "soon", text, lot.use_by, reverse("lot_detail", args=[lot.pk]))


def _duties(user, on, now):
    yield from _first(duty_lines(user, on), reverse("duty_list"), _("duties overdue or due"))


def _incidents(user, on, now):
    yield from _first(incident_lines(user, now), reverse("incident_list"), "incident clocks")


def _papers(user, on, now):
    yield from _first(paper_lines(user, on), reverse("authorization_list"), "papers that end")


def _reviews(user, on, now):
    yield from _first(review_lines(user, on), reverse("requirement_list"), "rules and papers to check again with the authority")
    yield from _first(silent_lines(user, on), reverse("requirement_list"), "rules that never apply")


def _first(lines, url, what):
    """The first lines of one kind; what is left out is counted, not dropped."""
    lines = list(lines)
    yield from lines[:LINES_OF_ONE_KIND]
    left = len(lines) - LINES_OF_ONE_KIND
    if left > 0:
        yield Duty("info", _("and %(n)s more %(what)s") % {"n": f"{left:,}", "what": what}, url=url)


def _rounds(user, on, now):
    """Rounds whose window is open, or closed within the last year with trees without a record or plots not counted."""
    year_ago = on - datetime.timedelta(days=365)
    rounds = CensusRound.objects.for_user(user).filter(opens_on__lte=on, closes_on__gte=year_ago)
    for item in rounds_with_progress(rounds).order_by("closes_on"):
        open_now = item.closes_on >= on
        if not open_now and not item.missing and item.counted == item.plots:
            continue
        severity = "soon" if open_now else "odd"
        where = {"round": item.label, "site": item.planting.site.name, "planting": item.planting.code}
        text = _("Census %(round)s at %(site)s (%(planting)s): %(progress)s") % (where | {"progress": _progress_words(item)})
        url = reverse("round_detail", args=[item.pk])
        yield Duty(severity, text, item.closes_on, url, mine=_is_crew(user) and open_now, first=_is_crew(user) and open_now)


def _is_crew(user):
    return user.role in roles.OWN_ROWS_ONLY and user.may("census.enter")


def crew_round(user, on):
    """The open round a crew member records trees in, or None: of several the one that closes first."""
    if not _is_crew(user):
        return None
    rounds = CensusRound.objects.for_user(user).filter(opens_on__lte=on, closes_on__gte=on)
    return rounds_with_progress(rounds).filter(missing__gt=0).order_by("closes_on", "pk").first()


def _progress_words(item):
    """How far a round is, counted as its own page counts it."""
    if not item.recorded and not item.counted:
        return _("no record yet")
    parts = []
    if item.missing:
        trees = expected(item)
        words = ngettext("%(n)s of %(all)s tree without a record", "%(n)s of %(all)s trees without a record", trees)
        parts.append(words % {"n": f"{item.missing:,}", "all": f"{trees:,}"})
    if item.plots > item.counted:
        words = ngettext("%(n)s of %(all)s plot not counted", "%(n)s of %(all)s plots not counted", item.plots)
        parts.append(words % {"n": f"{item.plots - item.counted:,}", "all": f"{item.plots:,}"})
    return ", ".join(parts) or _("complete")


def _flowers(user, on, now):
    """Rounds of late in which trees were in flower: papers about pollen ask to be told of that, and soon."""
    late = CensusRound.objects.for_user(user).filter(opens_on__lte=on, closes_on__gte=on - datetime.timedelta(days=FLOWERS_SHOWN_DAYS))
    rows = (
        Observation.objects.current().in_flower().filter(round__in=late).order_by().values("round")
        .annotate(n=Count("tree", distinct=True), first=Min("observed_on"))
    )  # fmt: skip
    seen = {row["round"]: row for row in rows}
    lines = []
    for item in late.filter(pk__in=seen).select_related("planting__site").order_by("-closes_on", "pk"):
        n, first = seen[item.pk]["n"], seen[item.pk]["first"]
        text = (
            f"{amount_words(n, 'trees')} seen in flower or fruit at {item.planting.site.name} ({item.planting.code}), "
            f"first on {day_words(first)}. Check what the papers of the planting ask about flowers"
        )
        lines.append(Duty("odd", text, url=reverse("planting_detail", args=[item.planting_id])))
    yield from _first(lines, reverse("planting_list"), "plantings with trees in flower")


def _conflicts(user, on, now):
    """Trees with two records of one recent round that do not agree, neither corrected."""
    recent = CensusRound.objects.for_user(user).filter(closes_on__gte=on - datetime.timedelta(days=365))
    by_round = {}
    for row in trees_recorded_differently(recent):
        by_round[row["round"]] = by_round.get(row["round"], 0) + 1
    for item in recent.filter(pk__in=by_round).select_related("planting"):
        n = by_round[item.pk]
        text = f"{n} {'tree has' if n == 1 else 'trees have'} two records of {item.label} in {item.planting.code} that do not agree"
        yield Duty("odd", text, url=reverse("round_detail", args=[item.pk]))


def _questions(user, on, now):
    yield from question_lines(user, LINES_OF_ONE_KIND)


def _undecided(user, on, now):
    """Trees rogued within a year, or on an unknown day, without a decision of two people."""
    recent = Q(status_on__isnull=True) | Q(status_on__gte=on - datetime.timedelta(days=UNDECIDED_SHOWN_DAYS))
    trees = rogued_undecided(PedigreeTree.objects.for_user(user).filter(recent))
    number = trees.count()
    if number:
        codes = ", ".join(trees.order_by("code").values_list("code", flat=True)[:3])
        text = f"{number:,} {'tree was' if number == 1 else 'trees were'} rogued without a decision of two people: {codes}"
        yield Duty("odd", text + (" …" if number > 3 else ""), url=reverse("orchard_list"))


def _word(user, on, now):
    """What landowners reported or signed and has not been dealt with."""
    yield from land_duties(user, on, LINES_OF_ONE_KIND)


def _land(user, on, now):
    """What is planted on the land of a landowner contact."""
    if user.role != roles.LANDOWNER:
        return
    for planting in plantings_listed(Planting.objects.for_user(user)):
        parts = [_("%(n)s planted") % {"n": f"{planting.planted_count:,}"}]
        if planting.alive_count is not None:
            words = ngettext("%(n)s tree alive at the last visit", "%(n)s trees alive at the last visit", planting.alive_count)
            parts.append(words % {"n": f"{planting.alive_count:,}"})
        if planting.sown_alive_count is not None:
            words = ngettext("%(n)s seedling alive from sown seed", "%(n)s seedlings alive from sown seed", planting.sown_alive_count)
            parts.append(words % {"n": f"{planting.sown_alive_count:,}"})
        words = _("%(place)s: planting %(code)s, %(counts)s")
        text = words % {"place": planting.site.name, "code": planting.code, "counts": ", ".join(parts)}
        yield Duty("info", text, planting.planted_on, reverse("planting_detail", args=[planting.pk]))


def _unconfirmed(user, on, now):
    """Decisions that wait for their second person."""
    lines = []
    for decision in waiting_decisions().order_by("decided_on", "pk"):
        mine = is_second(user, decision)
        who = "your confirmation" if mine else f"{decision.second_name} to confirm"
        text = f"Decision on {decision.tree.code} ({decision.get_decision_display()}) waits for {who}"
        lines.append(Duty("soon", text, decision.decided_on, reverse("decision_detail", args=[decision.pk]), mine=mine))
    yield from _first(lines, reverse("decision_list"), "decisions to confirm")


_GATHERED = (
    ("duty.view", _duties),
    ("incident.view", _incidents),
    ("shipment.view", _shipments),
    ("shipment.edit", _drafts),
    ("lot.view", _use_by),
    ("authorization.view", _papers),
    ("rule.view", _reviews),
    ("round.view", _rounds),
    ("rule.view", _flowers),
    ("observation.correct", _conflicts),
    ("identity.view", _questions),
    ("decision.enter", _undecided),
    ("decision.enter", _unconfirmed),
    ("landnotice.view", _word),
    ("planting.view", _land),
)
