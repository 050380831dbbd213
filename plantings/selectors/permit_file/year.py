"""What a yearly report under a paper needs: what happened in one calendar year, by aggregate queries."""

import datetime
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Count, Exists, OuterRef, Q, Sum
from django.utils import timezone

from plantings.calc.census.codes import DEAD, REMOVED
from plantings.choices import causes
from plantings.models import CensusRound, Observation, PlantingEntry
from plantings.selectors.permit_file.fates import FATE_COUNTS, last_tallies
from plantings.selectors.permit_file.items import Entry, Items, entries_reached, permit_items, shipments_under
from registry.choices import DutyKind, LedgerKind, LeftoverOutcome
from registry.models import Authorization, Determination, Duty, Incident, LedgerEntry, Leftover, ReceiptLine
from registry.selectors.duties.dates import duty_dates, with_done
from registry.selectors.duties.incidents import incident_clocks, with_clocks
from registry.selectors.permits.as_of import paper_on

__all__ = ["AtLastRound", "YearReport", "year_report"]

_FLOWER_WORDS = ("flower", "catkin", "bloom")


class AtLastRound(NamedTuple):
    """An entry at the last round of the year; `n` is what the census follows of it, `died` what died since the last round before."""

    entry: Entry
    round: str
    opened: date
    n: int
    alive: int
    dead: int
    presumed_dead: int
    unaccounted: int
    removed: int
    died: int


@dataclass(frozen=True, slots=True)
class YearReport:
    """One calendar year under a paper. Pairs are (unit, quantity); `flowered` trees were seen in flower or fruit, `first_flowered`
    of them never in a year before; `unseen` is planted before the year's end without a round in it."""

    paper: Authorization
    year: int
    now: datetime.datetime
    items: Items
    shipped: tuple
    received: tuple
    planted: tuple
    destroyed: tuple
    destroyed_in_lots: tuple
    at_last_round: tuple[AtLastRound, ...]
    unseen: tuple
    deaths: tuple
    removals: tuple
    flowered: int
    first_flowered: int
    flower_notes: int
    flower_duties: tuple
    dates: tuple
    incidents: tuple
    clocks: tuple
    answers: int
    overridden: int


def year_report(paper, year, now):
    """The YearReport of a paper. The number of queries is fixed."""
    items = permit_items(paper)
    lines, entries = {line.pk: line for line in items.lines}, {entry.pk: entry for entry in items.entries}
    on = timezone.localtime(now).date()
    paper = paper_on(paper, on)
    duties = list(with_done(Duty.objects.filter(authorization=paper)).order_by("code"))
    dates = [(duty, status) for duty in duties for status in duty_dates(duty, on, date(year, 12, 31)) if status.due.year == year]
    incidents = tuple(with_clocks(Incident.objects.filter(authorizations=paper, found_at__year=year)).order_by("found_at", "pk"))
    clocks = [state for incident in incidents for state in incident_clocks(incident, now) if state.clock.authorization_id == paper.pk]
    answers = Determination.objects.in_effect().filter(authorizations=paper, asked_for__year=year)
    at_last_round = tuple(_at_last_round(paper, year, entries))
    seen = {one.entry.pk for one in at_last_round}
    in_flower = Observation.objects.counting().in_flower()
    seen_in_flower = in_flower.filter(round__in=_rounds(paper, year))
    flowered_before = in_flower.filter(tree=OuterRef("tree"), round__opens_on__year__lt=year)
    return YearReport(
        paper=paper,
        year=year,
        now=now,
        items=items,
        shipped=tuple((line.unit, line.sent) for line in items.lines if line.dispatched_on and line.dispatched_on.year == year),
        received=tuple(_received(paper, year, lines)),
        planted=tuple((entry.unit, entry.under) for entry in items.entries if entry.planted_on and entry.planted_on.year == year),
        destroyed=tuple(_destroyed(paper, year, lines)),
        destroyed_in_lots=tuple(_destroyed_in_lots(year, {line.lot_pk: line for line in (*items.lines, *items.entries)})),
        at_last_round=at_last_round,
        unseen=tuple((entry.unit, entry.planted) for entry in items.entries if entry.pk not in seen and _stood_by(entry, year)),
        deaths=tuple(_first_recorded(paper, year, DEAD, entries)),
        removals=tuple(_first_recorded(paper, year, REMOVED, entries)),
        flowered=_trees(seen_in_flower, entries),
        first_flowered=_trees(seen_in_flower.filter(~Exists(flowered_before)), entries),
        flower_notes=_flower_notes(paper, year, entries),
        flower_duties=tuple((duty, status) for duty, status in dates if duty.kind == DutyKind.FLOWERS),
        dates=tuple(dates),
        incidents=incidents,
        clocks=tuple(clocks),
        answers=answers.count(),
        overridden=answers.filter(override_by__isnull=False).count(),
    )  # fmt: skip


def _stood_by(entry, year):
    return entry.planted_on is not None and entry.planted_on.year <= year


def _received(paper, year, lines):
    inside = {"receipt__received_on__year": year, "line__shipment__in": shipments_under(paper).values("pk")}
    rows = ReceiptLine.objects.in_effect().filter(**inside).order_by()
    for line, sound, sprouted, spoiled in rows.values_list("line").annotate(a=Sum("sound"), b=Sum("sprouted"), c=Sum("spoiled")):
        if line in lines:
            yield lines[line].unit, sound + sprouted + spoiled


def _destroyed(paper, year, lines):
    inside = {"outcome": LeftoverOutcome.DESTROYED, "on__year": year, "line__shipment__in": shipments_under(paper).values("pk")}
    for line, count in Leftover.objects.in_effect().filter(**inside).order_by().values_list("line").annotate(n=Sum("count")):
        if line in lines:
            yield lines[line].unit, count


def _destroyed_in_lots(year, lots):
    rows = LedgerEntry.objects.filter(kind=LedgerKind.DESTROYED, on__year=year).order_by()
    for lot, quantity in rows.values_list("lot").annotate(n=Sum("quantity")):
        if lot in lots:
            yield lots[lot].unit, -quantity


def _at_last_round(paper, year, entries):
    names = ("planted", *(name for name in FATE_COUNTS if name != "resprout"))
    reached = entries_reached(paper)
    before = dict(last_tallies(reached, opens_on__year__lt=year).values_list("entry", "dead"))
    rows = last_tallies(reached, opens_on__year=year).values_list("entry", "round_words", "round__opens_on", *names)
    found = {}
    for entry, label, opened, n, alive, dead, presumed, not_found, unclear, not_located, not_visited, removed, excluded in rows:
        unaccounted = not_found + unclear + not_located + not_visited
        found[entry] = (label, opened, n, alive, dead, presumed, unaccounted, removed + excluded, dead - before.get(entry, 0))
    for pk, entry in entries.items():
        if pk in found:
            yield AtLastRound(entry, *found[pk])


def _rounds(paper, year):
    plantings = PlantingEntry.objects.filter(pk__in=entries_reached(paper)).values("planting")
    return CensusRound.objects.filter(planting__in=plantings, opens_on__year=year).values("pk")


def _first_recorded(paper, year, status, entries):
    """[(words of the cause or reason, trees)]: trees of which a record of the year is the first of this status."""
    current = Observation.objects.counting().filter(status=status)
    earlier = current.filter(tree=OuterRef("tree")).filter(
        Q(round__opens_on__lt=OuterRef("round__opens_on")) | Q(round=OuterRef("round"), pk__lt=OuterRef("pk"))
    )
    rows = current.filter(round__in=_rounds(paper, year)).filter(~Exists(earlier)).order_by()
    found = {}
    for entry, cause, count in rows.values_list("tree__entry", "cause").annotate(n=Count("pk")):
        if entry in entries:
            found[cause] = found.get(cause, 0) + count
    words = dict(causes())
    return sorted(((words.get(cause, "not given"), count) for cause, count in found.items()), key=lambda row: (-row[1], row[0]))


def _trees(observations, entries):
    """How many trees of these entries have such a record."""
    rows = observations.order_by().values_list("tree__entry").annotate(n=Count("tree", distinct=True))
    return sum(count for entry, count in rows if entry in entries)


def _flower_notes(paper, year, entries):
    """How many census records of the year have a note that speaks of flowers: there a crew may say what the field cannot."""
    spoken = Q()
    for word in _FLOWER_WORDS:
        spoken |= Q(note__icontains=word)
    rows = Observation.objects.counting().filter(spoken, round__in=_rounds(paper, year)).order_by()
    return sum(count for entry, count in rows.values_list("tree__entry").annotate(n=Count("pk")) if entry in entries)
