"""Reads about shipments: what is short, what has no receipt, what is odd."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext

from registry.calc.shared.screen import list_words
from registry.choices import ProgrammeKey, ShipmentState
from registry.models import ShipmentLine
from registry.selectors.duties.duty_line import Duty
from registry.selectors.people.programme import setting
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_day

__all__ = ["LineBalance", "other_drafts", "promised_words", "shipment_duties", "shipment_lines", "shipment_words"]


@dataclass(frozen=True, slots=True)
class LineBalance:
    """What became of one line of a shipment on its way. `short` is None until there is a receipt."""

    line: ShipmentLine
    sound: int
    sprouted: int
    spoiled: int
    short: int | None

    @property
    def received(self):
        return self.sound + self.sprouted + self.spoiled


def shipment_lines(shipment):
    """The lines of a shipment with what its receipts say of each."""
    received = shipment.receipts.in_effect().exists()
    in_effect = Q(receipt_lines__receipt__taken_back_at__isnull=True)
    counts = {name: Coalesce(Sum(f"receipt_lines__{name}", filter=in_effect), 0) for name in ("sound", "sprouted", "spoiled")}
    lines = shipment.lines.select_related("lot__taxon", "lot__mother").annotate(**counts).order_by("lot__code", "form")
    balances = []
    for line in lines:
        arrived = line.sound + line.sprouted + line.spoiled
        balances.append(LineBalance(line, line.sound, line.sprouted, line.spoiled, line.quantity - arrived if received else None))
    return balances


def other_drafts(lots, shipment=None):
    """{lot key: [(code of a draft, how many it takes)]} of some lots, without one shipment. One query."""
    lines = ShipmentLine.objects.filter(lot__in=lots, shipment__state=ShipmentState.DRAFT).exclude(shipment=shipment)
    rows = lines.order_by("shipment__code").values_list("lot", "shipment__code").annotate(total=Sum("quantity"))
    found = {}
    for lot, code, total in rows:
        found.setdefault(lot, []).append((code, total))
    return found


def promised_words(lot, drafts):
    """What drafts together take beyond what a lot holds; "" where it is enough. `drafts` are pairs as of `other_drafts`."""
    total = sum(count for _code, count in drafts)
    if len(drafts) < 2 or total <= lot.balance:
        return ""
    each = list_words([f"{code} {local_count(count)}" for code, count in drafts], gettext("and"))
    words = gettext("Drafts promise %(total)s of lot %(lot)s (%(drafts)s); it holds %(balance)s.")
    return words % {"total": local_amount(total, lot.unit), "lot": lot.code, "drafts": each, "balance": local_count(lot.balance)}


def shipment_words(balances):
    """'240 plants', or '100 seeds and 240 plants': what a shipment carries, by unit."""
    totals = {}
    for balance in balances:
        unit = balance.line.lot.unit
        totals[unit] = totals.get(unit, 0) + balance.line.quantity
    return list_words([local_amount(total, unit) for unit, total in sorted(totals.items(), reverse=True)], gettext("and"))


def shipment_duties(shipment, balances, today: date, *, sees_lots=True):
    """What is due or odd about a shipment on a day. Whoever sees no lots reads neither what they hold nor which drafts take of them."""
    if shipment.state == ShipmentState.DRAFT:
        return _draft_duties(shipment, balances, today, sees_lots)
    if shipment.state == ShipmentState.DISPATCHED:
        return _way_duties(shipment, balances, today)
    return []


def _draft_duties(shipment, balances, today, sees_lots):
    duties = []
    if shipment.planned_on and shipment.planned_on < today:
        duties.append(Duty("late", gettext("The planned day has passed and the shipment is still a draft."), shipment.planned_on))
    wanted = {}
    for balance in balances:
        wanted[balance.line.lot] = wanted.get(balance.line.lot, 0) + balance.line.quantity
    others = other_drafts([lot.pk for lot in wanted], shipment) if sees_lots else {}
    for lot, quantity in wanted.items():
        if sees_lots and quantity > lot.balance:
            words = gettext("Lot %(lot)s holds %(balance)s; this shipment takes %(quantity)s.")
            words %= {"lot": lot.code, "balance": local_amount(lot.balance, lot.unit), "quantity": local_count(quantity)}
            duties.append(Duty("odd", words))
        elif promised := promised_words(lot, [(shipment.code, quantity), *others.get(lot.pk, [])]):
            duties.append(Duty("odd", promised))
        if lot.use_by and lot.use_by < today:
            duties.append(Duty("late", gettext("The use-by date of lot %(lot)s has passed.") % {"lot": lot.code}, lot.use_by))
        elif lot.use_by and shipment.arrives_on and lot.use_by < shipment.arrives_on:
            words = gettext("Lot %(lot)s is to be used by %(use_by)s, and it arrives on %(arrives_on)s.")
            words %= {"lot": lot.code, "use_by": local_day(lot.use_by), "arrives_on": local_day(shipment.arrives_on)}
            duties.append(Duty("odd", words, lot.use_by))
    return duties


def _way_duties(shipment, balances, today):
    if balances and balances[0].short is None:
        days = (today - shipment.dispatched_on).days
        if days > setting(ProgrammeKey.RECEIPT_DAYS):
            words = gettext("No receipt %(days)s after it left. Its arrival is not confirmed.") % {"days": local_amount(days, "days")}
            return [Duty("late", words, shipment.dispatched_on)]
        return [Duty("info", gettext("On its way: no receipt yet."), shipment.dispatched_on)]
    duties = []
    for balance in balances:
        unit, code = balance.line.lot.unit, balance.line.lot.code
        if balance.short:
            words = gettext("Lot %(lot)s: %(short)s short. Shipped %(shipped)s, in receipts %(received)s.")
            words %= {
                "lot": code, "short": local_amount(balance.short, unit), "shipped": local_count(balance.line.quantity),
                "received": local_count(balance.received),
            }  # fmt: skip
            duties.append(Duty("odd", words))
        if balance.spoiled:
            words = gettext("Lot %(lot)s: %(spoiled)s arrived spoiled.")
            duties.append(Duty("odd", words % {"lot": code, "spoiled": local_amount(balance.spoiled, unit)}))
    return duties
