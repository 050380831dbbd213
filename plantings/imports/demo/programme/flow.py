"""Seed and plants on their way through the lots: ledger, bulk, shipments, receipts, leftovers.

Everything is worked back from the planted trees: what was planted had to arrive, to be shipped, raised, sown and harvested.
So the figures of a lot fit each other, as they do in real records.
"""

import datetime
from collections import Counter
from random import Random

from plantings.imports.demo.programme.layout import FILLER
from plantings.imports.demo.programme.lots import BULK, BULKED, SOWN_PLOTS, lots
from plantings.imports.demo.programme.people import CONTACT
from plantings.imports.demo.programme.places import BY_CODE, PLANS, SOWN_PLANTING, agreement

_NUT_G = {"B3F3": 12.4, "native": 11.6}
# What went wrong in a box: condition, °C, lot and count spoiled, lot and count short, the receiver's words.
_BOXES = {
    "ST-04-2020": ("good", 4.5, {}, {"P19-SLK01": 6}, "6 fewer than the packing list says; counted twice"),
    "ST-08-2021": ("warm", 17.0, {"P20-F1": 5, "P20-SLS02": 3}, {}, "left in the depot overnight; roots of 8 plants dry"),
    "ST-11-2021": ("wet", 5.0, {"P20-NAT": 3}, {}, "mould on 3 plants at the bottom"),
}
_UNRECEIVED = {"P20-SLS01": 12, "P20-SLK01": 12}
# Lots whose last plants or nuts are still on hand; all others were cleared.
_KEPT = {"P20-SLK03", "P20-SLS02", "P20-DON", "S19-SLK03"}
_CULLED = (
    "culled, too small; root collar under 6 mm at lifting",
    "culled, misformed stem or root; forked",
    "culled, too small; shaded at the bed's edge",
    "culled, diseased; canker on the stem",
)
_STOCK_TAKES = {"P20-SLS01": -3, "P20-SLS02": -1, "P20-NAT": -4, "P20-SLK03": 1}


class Flow:
    """All sheets of the movements and the ledger, from {planting: trees} and {planting: replacements}."""

    def __init__(self, seed, trees, replaced):
        self.rng = Random(f"{seed} flow")
        self.shipments, self.receipts, self.leftovers = [], [], []
        self.ledger, self.late_ledger = [], []
        self.shipped = Counter()  # by lot and day of dispatch
        self._ship_nuts()
        for plan in PLANS:
            planted = Counter(tree.lot for tree in trees[plan.code])
            self._ship_plants(plan, planted, Counter(tree.lot for tree in replaced.get(plan.code, ())))
        self._ship_unreceived()
        self.sown = {}  # seed lot: (nuts sown, day, stock lot)
        for lot in lots():
            if lot["lot_kind"] == "stock":
                self._raise(lot)
        for lot in lots():
            if lot["origin"] == "harvest" and lot["lot_kind"] == "seed":
                self._harvest(lot)
        _number(self.ledger, "")
        _number(self.late_ledger, "L")

    def components(self):
        reason = "for direct seeding at Pippinmoor"
        return [
            {"bulk": BULK, "component": component, "count": count, "bulked_on": "2019-10-08", "reason": reason}
            for component, count in BULKED.items()
        ]

    # -- movements -----------------------------------------------------------------------------

    def _ship_nuts(self):
        papers = (agreement("ST-05"), "EX-NONE-NY", "EX-CERT-2019")
        head = _shipment("SH-2019-01", "PT-05", "2019-10-14", "own van", papers, "KEEP 1-4 C, DAMP, SOW WITHIN A WEEK")
        for lot, plots in SOWN_PLOTS.items():
            self._box(head, "2019-10-15", "good", 3.5, lot, "seed", plots * 60)

    def _ship_plants(self, plan, planted, replaced):
        place, dispatched = BY_CODE[plan.site], _dispatch_day(plan)
        number = 1 + sum(other.year == plan.year and other.planted_on < plan.planted_on for other in PLANS)
        papers = (agreement(plan.site), f"EX-CERT-{plan.year}", plan.permit)
        near = place.state in ("US-VT", "US-NY")
        carrier = "own van" if near else "day courier"
        head = _shipment(f"SH-{plan.year}-{number:02d}", place.partner, dispatched.isoformat(), carrier, papers)
        received_on = (dispatched + datetime.timedelta(days=1 if near else 2)).isoformat()
        usual = ("good", self.rng.randint(4, 13) / 2, {}, {}, "")
        condition, temperature, spoiled, short, words = _BOXES.get(plan.code, usual)
        for lot in sorted(planted):
            spare = 0 if lot == FILLER else self.rng.randint(2, 5)
            quantity = planted[lot] + replaced[lot] + spare + spoiled.get(lot, 0) + short.get(lot, 0)
            loss = (spoiled.get(lot, 0), short.get(lot, 0))
            self._box(head, received_on, condition, temperature, lot, "bareroot", quantity, loss, words if any(loss) else "")
            if spare:
                self._leave_over(plan, head["code"], lot, spare)

    def _ship_unreceived(self):
        head = _shipment("SH-2022-04", "PT-12", "2022-11-07", "day courier", ("EX-CERT-2022", "EX-PERMIT-MI"))
        for lot, quantity in _UNRECEIVED.items():
            note = "for the teaching plot; the school has not answered since"
            self.shipments.append(head | {"lot": lot, "form": "bareroot", "quantity": quantity, "note": note})
            self.shipped[lot, head["dispatched_on"]] += quantity

    def _box(self, head, received_on, condition, temperature, lot, form, quantity, loss=(0, 0), note=""):
        spoiled, short = loss
        self.shipments.append(head | {"lot": lot, "form": form, "quantity": quantity})
        self.shipped[lot, head["dispatched_on"]] += quantity
        self.receipts.append(
            {
                "shipment": head["code"],
                "received_on": received_on,
                "received_by": CONTACT[head["receiver"]],
                "lot": lot,
                "form": form,
                "box_condition": condition,
                "temperature_c": temperature,
                "sound": quantity - spoiled - short,
                "sprouted": 0,
                "spoiled": spoiled,
                "note": note,
            }  # fmt: skip
        )

    def _leave_over(self, plan, shipment, lot, count):
        """Spare plants: back from near sites, destroyed at far ones, at the school still heeled in."""
        outcome, note = "destroyed", "burnt at the site"
        if BY_CODE[plan.site].state == "US-VT":
            outcome, note = "returned", "back in the nursery"
        elif plan.site == "ST-05":
            outcome, note = "held", "heeled in by the tool shed, tagged"
        on = (datetime.date.fromisoformat(plan.planted_on) + datetime.timedelta(days=2)).isoformat()
        self.leftovers.append(
            {"shipment": shipment, "lot": lot, "form": "bareroot", "outcome": outcome, "on": on, "count": count, "note": note}
        )
        if outcome == "returned":
            self._late(lot, "destroyed", count, f"{plan.year}-06-15", "leftovers that came back are not planted again")

    # -- the ledger ----------------------------------------------------------------------------

    def _raise(self, lot):
        """Seedlings counted in their first autumn, culled when lifted; the last ones of most lots cleared away."""
        code, rng = lot["code"], self.rng
        if code == FILLER:
            return self._acquire(code)
        out = sum(count for (shipped, _on), count in self.shipped.items() if shipped == code)
        sown_year = lot["year"] + (lot["origin"] == "harvest")
        lifts = sorted({on[:4] for shipped, on in self.shipped if shipped == code and on[5:] < "06"})
        culls = {year: round(out * rng.uniform(0.04, 0.09) / len(lifts)) for year in lifts}
        rest, difference = rng.randint(3, 11), _STOCK_TAKES.get(code, 0)
        raised = out + sum(culls.values()) + rest - difference
        self._now(code, "raised", raised, f"{sown_year}-10-02", counterpart=lot.get("parent", ""), reason="first count in the bed")
        for year, count in culls.items():
            self._now(code, "discarded", count, f"{year}-03-18", reason=_CULLED[sum(map(ord, code)) % len(_CULLED)])
        if difference:
            self._now(code, "counted", difference, "2021-10-06", reason="stock-take of the beds in October 2021")
        if code not in _KEPT:
            self._late(code, "destroyed", rest, f"{int(lifts[-1])}-11-20", "bed cleared, plants chipped")
        if lot["origin"] == "sown":
            self.sown[lot["parent"]] = (round(raised / rng.uniform(0.64, 0.81)), f"{sown_year}-05-02", code)

    def _acquire(self, code):
        for year in ("2020", "2021", "2022"):
            bought = sum(count for (shipped, on), count in self.shipped.items() if shipped == code and on.startswith(year))
            self._now(code, "acquired", bought, f"{year}-03-24", reason="bought from Corncrake Nursery for the edges")

    def _harvest(self, lot):
        """Nuts picked on two days, floated, sampled, stored with some loss, sown, and the rest thrown out past its date."""
        code, rng, year = lot["code"], self.rng, lot["year"]
        sown, sown_on, stock = self.sown[code]
        out = sum(count for (shipped, _on), count in self.shipped.items() if shipped == code) + BULKED.get(code, 0)
        used = sown + out
        floaters, mouldy, rest = round(used * rng.uniform(0.05, 0.12)), rng.randint(0, 9), rng.randint(4, 15)
        sampled = rng.choice((20, 25, 30))
        harvested = used + floaters + mouldy + rest + sampled
        first = round(harvested * rng.uniform(0.5, 0.7))
        picked = rng.randint(20, 27)
        for day, count in ((picked, first), (picked + 2, harvested - first)):
            mass = round(count * _NUT_G[lot["generation"]] * rng.uniform(0.92, 1.08))
            self._now(code, "harvested", count, f"{year}-09-{day}", mass_g=mass)
        self._now(code, "discarded", floaters, f"{year}-09-{picked + 3}", reason="floaters")
        self._now(code, "sampled", sampled, f"{year}-10-03", reason="cut test")
        self._now(code, "discarded", mouldy, f"{year + 1}-02-10", reason="mouldy at the monthly check")
        self._now(code, "sown", sown, sown_on, counterpart=stock)
        if code not in _KEPT:
            self._now(code, "discarded", rest, f"{year + 1}-06-30", reason="past its date")

    def _now(self, lot, entry, quantity, on, **rest):
        if quantity:
            self.ledger.append({"lot": lot, "entry": entry, "quantity": quantity, "on": on, **rest})

    def _late(self, lot, entry, quantity, on, reason):
        self.late_ledger.append({"lot": lot, "entry": entry, "quantity": quantity, "on": on, "reason": reason})


def _number(ledger, prefix):
    """Entry numbers of the paper ledger, in the order of the days."""
    ledger.sort(key=lambda row: (row["on"], row["lot"]))
    numbers = Counter()
    for row in ledger:
        year = row["on"][:4]
        numbers[year] += 1
        row["reference"] = f"{prefix}{year}-{numbers[year]:03d}"


def _shipment(code, receiver, dispatched_on, carrier, papers, handling="KEEP 1-4 C, ROOTS MOIST, DO NOT FREEZE"):
    planned_on = (datetime.date.fromisoformat(dispatched_on) - datetime.timedelta(days=3)).isoformat()
    return {
        "code": code, "receiver": receiver, "planned_on": planned_on, "dispatched_on": dispatched_on, "carrier": carrier,
        "handling": handling, "authorizations": "; ".join(papers),
    }  # fmt: skip


def _dispatch_day(plan):
    """A Monday or Wednesday, at most six days before the planting: no box is left in a depot over the weekend."""
    day = datetime.date.fromisoformat(plan.planted_on)
    back = day.weekday() if day.weekday() >= 2 else day.weekday() + 5
    return day - datetime.timedelta(days=back)


def counted_plots():
    rows = []
    for lot, plots in SOWN_PLOTS.items():
        for _ in range(plots):
            role = "test" if lot == BULK else "check"
            rows.append({"planting": SOWN_PLANTING, "code": f"D{len(rows) + 1}", "lot": lot, "role": role, "planted_count": 60})
    return rows
