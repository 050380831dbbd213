"""The full recount: every total that is stored for speed, checked against the records it comes from."""

from django.db.models import F, Sum

from plantings.calc.survival.completeness import Progress
from plantings.models import CauseTally, EntrySupply, Planting, ReviewTally, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.reviews import waiting_apart, waiting_counts
from plantings.selectors.census.tallies import COUNT_FIELDS, planting_state, tally_counts
from registry.calc.lots.stock import LedgerLine, first_overdraw
from registry.models import Lot, ReceiptLine, ShipmentLine
from registry.selectors.identity.questions import spread_differences
from registry.selectors.pedigree.loops import record_loops

__all__ = ["recount_differences", "tally_differences"]


def recount_differences():
    """({what: how many checked}, [(record, stored, recounted)]) over all records."""
    checked = {"lots": 0, "shipment lines": 0, "plantings": 0, "tallies": 0, "trees": 0, "questions of identity": 0, "origins": 0}
    checked["lots"], lines = _balances()
    checked["shipment lines"], found = _movements()
    lines.extend(found)
    checked["questions of identity"], found = spread_differences()
    lines.extend(found)
    checked["origins"], found = record_loops()
    lines.extend((loop.split(" ", 1)[0], "its own ancestor", loop) for loop in found)
    for planting in Planting.objects.order_by("code"):
        checked["plantings"] += 1
        tallies, trees, found = tally_differences(planting)
        checked["tallies"] += tallies
        checked["trees"] += trees
        lines.extend(found)
        lines.extend(_supplies(planting))
    return checked, lines


def _balances():
    found = []
    lots = Lot.objects.order_by("code")
    for lot in lots:
        entries = [LedgerLine(*row) for row in lot.ledger.values_list("on", "quantity")]
        total = sum(entry.quantity for entry in entries)
        if total != lot.balance:
            found.append((f"lot {lot.code}, balance", lot.balance, total))
        overdraw = first_overdraw(entries)
        if overdraw:
            found.append((f"lot {lot.code}, balance on {overdraw[0]}", "0 or more", overdraw[1]))
    return len(lots), found


def _movements():
    """Planted and left over ≤ received ≤ shipped, for every shipment line."""
    found = []
    lines = ShipmentLine.objects.select_related("shipment", "lot").order_by("pk")
    arrived = ReceiptLine.objects.in_effect().order_by().values_list("line")
    received = dict(arrived.annotate(n=Sum(F("sound") + F("sprouted") + F("spoiled"))))
    usable = dict(arrived.annotate(n=Sum(F("sound") + F("sprouted"))))
    planted = dict(EntrySupply.objects.filter(shipment_line__isnull=False).values_list("shipment_line").annotate(n=Sum("count")))
    for line in lines:
        name = f"shipment {line.shipment.code}, lot {line.lot.code}"
        if received.get(line.pk, 0) > line.quantity:
            found.append((f"{name}, received", f"at most {line.quantity} shipped", received[line.pk]))
        if planted.get(line.pk, 0) > usable.get(line.pk, 0):
            found.append((f"{name}, planted", f"at most {usable.get(line.pk, 0)} received usable", planted[line.pk]))
    return len(lines), found


def tally_differences(planting):
    """(tallies looked at, trees looked at, [(record, stored, recounted)]) of one planting."""
    state = planting_state(planting)
    stored = {(tally.round_id, tally.entry_id): tally_counts(tally) for tally in SurvivalTally.objects.filter(round__planting=planting)}
    found = _differences(planting, "entry", stored, state.counts, _short)
    progress = RoundProgress.objects.filter(round__planting=planting).values_list("round", "sown", *Progress._fields)
    found += _differences(planting, "sown", {row[:2]: Progress(*row[2:]) for row in progress}, state.progress, _plain)
    causes = CauseTally.objects.filter(round__planting=planting).values_list("round", "entry", "cause", "trees")
    found += _differences(planting, "entry and cause", {row[:3]: row[3] for row in causes}, state.causes, _plain)
    found += _waiting(planting)
    trees = list(Tree.objects.filter(planting=planting).values_list("pk", "tag", "fate"))
    found += [(f"tree {planting.code}/{tag}, fate", fate, str(state.fates[pk])) for pk, tag, fate in trees if state.fates[pk] != fate]
    return len(stored), len(trees), found


def _waiting(planting):
    """The records that wait for a review, or for an answer of the crew; a round without records has no tally of them."""
    tallies = ReviewTally.objects.filter(round__planting=planting)
    stored = {pk: tuple(counts) for pk, *counts in tallies.values_list("round", "unread", "asked_back", "in_no_figure")}
    rounds = list(planting.rounds.values_list("pk", flat=True))
    apart = waiting_apart(rounds)
    wanted = {pk: (*counts, apart.get(pk, 0)) for pk, counts in waiting_counts(rounds).items()}
    return [
        (
            f"planting {planting.code}, round {pk}, records to review",
            *(f"{unread} unread, {asked} asked back, {no_figure} in no figure" for unread, asked, no_figure in pair),
        )
        for pk, counts in wanted.items()
        if (pair := (stored.get(pk, (0, 0, 0)), counts))[0] != counts
    ]


def _differences(planting, what, stored, wanted, words):
    return [
        (f"planting {planting.code}, round {key[0]}, {what} {', '.join(map(str, key[1:]))}", words(stored.get(key)), words(wanted.get(key)))
        for key in sorted(stored.keys() | wanted.keys())
        if stored.get(key) != wanted.get(key)
    ]


def _plain(value):
    return "nothing" if value is None else str(value)


def _supplies(planting):
    """Every tree and counted seed of an entry has a supply, and no supply is without its trees."""
    found = []
    for entry in planting.entries.select_related("lot"):
        planted = entry.trees.count() + (entry.counted_plots.known().aggregate(n=Sum("planted_count"))["n"] or 0)
        supplied = entry.supplies.aggregate(n=Sum("count"))["n"] or 0
        if planted != supplied:
            found.append((f"planting {planting.code}, lot {entry.lot.code} ({entry.role}), supplied", supplied, planted))
    return found


def _short(counts):
    if counts is None:
        return "nothing"
    return ", ".join(f"{name} {getattr(counts, name)}" for name in COUNT_FIELDS if getattr(counts, name))
