"""Reads of what was done with a lot: treatments, storage, calendar, account, culls of families."""

from collections import Counter, defaultdict
from dataclasses import dataclass

from django.db.models import Sum

from registry.calc.lots.account import lot_account
from registry.calc.lots.stratification import CalendarStep, calendar_from_start
from registry.calc.lots.treatments import hot_water_warnings, storage_warnings, surface_warnings
from registry.calc.shared.part_dates import PartDate
from registry.calc.shared.proportion import ShareInterval, wilson_interval
from registry.choices import LedgerKind, LotKind, LotOrigin, TreatmentKind
from registry.models import Harvest, LedgerEntry, Leftover, Lot, Treatment
from registry.selectors.lots.handbook import dies_dry_or_frozen, handbook_periods, hot_water_bath
from registry.selectors.movements.leftovers import held_of, line_unsettled
from registry.selectors.pedigree.lineage import lot_lineages

__all__ = [
    "CULLED",
    "Raised",
    "TreatmentRow",
    "account_lines",
    "family_culls",
    "leftovers_held",
    "lot_calendar",
    "lot_code_free",
    "lot_harvests",
    "lot_leftovers",
    "lot_oddities",
    "lot_treatments",
    "storage_rows",
    "treatment_warnings",
]

CULLED = "culled, "  # how the reason of a culling begins in the ledger
_STRATIFIED = {TreatmentKind.WARM, TreatmentKind.COLD}


@dataclass(frozen=True, slots=True)
class TreatmentRow:
    """A treatment with what is odd about it; `completed` when a later entry of the same kind and first day replaces it."""

    treatment: Treatment
    warnings: tuple[str, ...]
    completed: bool


@dataclass(frozen=True, slots=True)
class Raised:
    """A stock lot of one family: seeds sown, plants raised, plants culled by reason; the share culled of the raised."""

    lot: Lot
    family: str
    sown: int
    raised: int
    culled: int
    reasons: tuple[tuple[str, int], ...]
    share: ShareInterval | None


def treatment_warnings(treatment, bath):
    """What is odd about a treatment; `bath` is the hot water bath of its species, if any.

    Impossible temperatures were refused when it was entered.
    """
    if treatment.kind == TreatmentKind.HOT_WATER:
        return hot_water_warnings(treatment.temperature_c, treatment.minutes, bath)
    return surface_warnings(treatment.minutes) if treatment.kind == TreatmentKind.SURFACE else ()


def lot_harvests(lot):
    """The pickings of a lot, in time order."""
    return list(Harvest.objects.filter(entry__lot=lot).select_related("entry__reversed_by").order_by("entry__on", "pk"))


def lot_treatments(lot):
    """Treatments of a lot, the newest first."""
    treatments = list(lot.treatments.order_by("-started_on", "-id"))
    newest = {}
    for treatment in treatments:
        newest.setdefault((treatment.kind, treatment.started_on), treatment.pk)
    has_bath = any(treatment.kind == TreatmentKind.HOT_WATER for treatment in treatments)
    bath = hot_water_bath(lot.taxon.name) if has_bath else None
    return [TreatmentRow(t, treatment_warnings(t, bath), newest[t.kind, t.started_on] != t.pk) for t in treatments]


def lot_calendar(rows, handbook):
    """The calendar of a stratification in progress, from its first day and the handbook; None without one or its day."""
    periods = handbook_periods(handbook) if handbook else None
    running = [row.treatment for row in rows if row.treatment.kind in _STRATIFIED and not row.completed]
    if not periods or not running or not any(treatment.ended_on is None for treatment in running):
        return None
    return _calendar(running, *periods)


def _calendar(running, warm, cold) -> tuple[CalendarStep, ...] | None:
    current = next(treatment for treatment in running if treatment.ended_on is None)
    if isinstance(current.started_on, PartDate):
        return None  # nothing can be counted from a month or a year
    if current.kind == TreatmentKind.COLD:
        return calendar_from_start(current.started_on, type(warm)(), cold)
    return calendar_from_start(current.started_on, warm, cold)


def storage_rows(lot, handbook):
    """(record, warnings) of each storage check, the newest first."""
    fragile = dies_dry_or_frozen(handbook)
    return [(record, storage_warnings(record.temperature_c, fragile)) for record in lot.storage_log.select_related("entry")]


def lot_oddities(results, treatments, storage):
    """What needs attention now: the newest test of each kind that counts, treatments that failed, the newest storage check."""
    newest = {}
    for result in results:
        if result.superseded_by is None:
            newest.setdefault(result.test.kind, result)
    words = [f"{result.test.get_kind_display().capitalize()}: {result.warning}" for result in newest.values() if result.warning]
    words += [line for row in treatments if not row.completed for line in row.warnings]
    return words + [line for _record, warnings in storage[:1] for line in warnings]


def account_lines(entries):
    """The account of a lot from its ledger entries in time order, by the names of their kinds."""
    return lot_account((entry.get_kind_display(), entry.quantity) for entry in entries)


def lot_leftovers(lot):
    """What shipments of a lot left over, the newest first, with those taken back; what is still held is not accounted for yet."""
    found = Leftover.objects.filter(line__lot=lot).select_related("line__shipment__receiver", "taken_back_by")
    return list(found.order_by("-on", "-id"))


def leftovers_held(leftovers):
    """How many are reported as still held, less what was returned or destroyed of the same line afterwards, or planted after all.
    Those taken back do not count."""
    reports, lines = defaultdict(list), {}
    for leftover in sorted(leftovers, key=lambda leftover: (leftover.on, leftover.pk)):
        if not leftover.taken_back_at:
            reports[leftover.line_id].append((leftover.outcome, leftover.count))
            lines[leftover.line_id] = leftover.line
    held = [pk for pk, said in reports.items() if held_of(said, None)]
    return sum(held_of(reports[pk], line_unsettled(lines[pk])) for pk in held)


def lot_code_free(start):
    """A lot code that is not in use: `start`, or the first of `start`-2, -3 … that is free."""
    taken = {code.lower() for code in Lot.objects.filter(code__istartswith=start).values_list("code", flat=True)}
    if start.lower() not in taken:
        return start
    return next(code for code in (f"{start}-{number}" for number in range(2, len(taken) + 3)) if code.lower() not in taken)


def family_culls(lots):
    """Raised and culled plants of stock lots that were raised from seed: three queries besides the lineages."""
    lots = list(lots.filter(kind=LotKind.STOCK, origin=LotOrigin.SOWN).select_related("parent"))
    keys = [lot.pk for lot in lots]
    sown = _sums(LedgerEntry.objects.filter(counterpart__in=keys, kind=LedgerKind.SOWN), "counterpart")
    raised = _sums(LedgerEntry.objects.filter(lot__in=keys, kind=LedgerKind.RAISED), "lot")
    culls = defaultdict(Counter)
    # a reversal has another reason; it is taken off under the reason of the entry it reverses
    entries = LedgerEntry.objects.filter(lot__in=keys, kind=LedgerKind.DISCARDED).values_list(
        "lot", "quantity", "reason", "reverses__reason"
    )  # fmt: skip
    for lot_id, quantity, own, reversed_reason in entries:
        reason = reversed_reason or own
        if reason.startswith(CULLED):
            culls[lot_id][reason.removeprefix(CULLED).split(";")[0]] -= quantity
    lineages = lot_lineages(lots)
    return [_raised(lot, lineages[lot.pk].family, -sown.get(lot.pk, 0), raised.get(lot.pk, 0), culls[lot.pk]) for lot in lots]


def _raised(lot, family, sown, raised, culls):
    reasons = tuple((reason, count) for reason, count in culls.most_common() if count)
    culled = sum(count for _, count in reasons)
    share = wilson_interval(culled, raised) if raised and 0 <= culled <= raised else None
    return Raised(lot, family, sown, raised, culled, reasons, share)


def _sums(entries, by):
    return dict(entries.order_by().values_list(by).annotate(total=Sum("quantity")))
