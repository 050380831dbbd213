"""The parts of the page of a lot that tell what was done with it: tests, treatments, storage, calendar, account, leftovers."""

from registry.calc.lots.seed_amounts import bulk_per_pure_live_seed, pure_live_seed_share
from registry.calc.shared.screen import amount_words
from registry.choices import LotKind
from registry.selectors.lots.handbook import handbook_periods, verified_words
from registry.selectors.lots.seed_tests import lot_figures
from registry.views.lots.lot_tools import calendar_part, periods_words
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import reverse_to
from registry.views.shared.section_views import allowed, yes_no
from registry.views.shared.tables import Column, ledger_table


def harvest_part(harvests, fruit):
    """Pickings of a lot; `fruit` is what the handbook calls the fruits of its species, or nothing."""
    columns = (
        Column("Picked on", lambda harvest: harvest.entry.on, kind="date"),
        Column("Seeds", lambda harvest: harvest.entry.quantity, "right", "number"),
        Column("Mass (g)", lambda harvest: harvest.entry.mass_g and f"{harvest.entry.mass_g:,.0f}", "right"),
        Column(fruit.capitalize() or "Fruits", "fruits", "right", "number"),
        Column("Picked by", "picker"),
        Column("Containers", "containers", "right", "number"),
        Column("Labels in and out", lambda harvest: yes_no(harvest.labels_inside_and_outside)),
        Column("Held by", "holder"),
        Column("Note", lambda harvest: " ".join([*(["reversed in the ledger;"] if _reversed(harvest) else []), harvest.note]).strip(" ;")),
    )
    table = ledger_table("Harvest", columns, harvests, unit="pickings", mark=lambda harvest: "soft" if _reversed(harvest) else "")
    return table | {"id": "harvest"}


def tests_part(lot, results, user):
    columns = (
        Column("Tested on", lambda result: result.test.tested_on, kind="date", url=lambda r: reverse_to("seedtest_detail", r.test.pk)),
        Column("Test and result", lambda result: f"{result.test.get_kind_display().capitalize()}: {result.headline}"),
        Column("Judgement", lambda result: "corrected by a later test" if result.superseded_by else result.warning or result.judgement),
        Column("Tested by", lambda result: result.test.tested_by, kind="soft"),
    )
    table = ledger_table(
        "Tests", columns, results, unit="tests", empty="Not tested yet: float and cut at harvest, germination before sowing.",
        mark=lambda result: "soft" if result.superseded_by else "",
    )  # fmt: skip
    return _with(table, "tests", _doable(lot, user, ("Enter a test", "seedtest.enter", "lot_test")))


def treatments_part(lot, rows, user):
    columns = (
        Column("Started on", lambda row: row.treatment.started_on, kind="date"),
        Column("Treatment", lambda row: treatment_words(row.treatment)),
        Column("Ended on", lambda row: row.treatment.ended_on, kind="date"),
        Column("Odd", lambda row: "completed by a later entry" if row.completed else " ".join(row.warnings)),
        Column("Done by", lambda row: row.treatment.operator, kind="soft"),
    )
    table = ledger_table(
        "Treatments", columns, rows, unit="treatments", empty="No treatment entered.", mark=lambda row: "soft" if row.completed else ""
    )  # fmt: skip
    steps = () if lot.closed_on else (("Enter a treatment", "treatment.enter", "lot_treat"),)
    tools = (("Stratification calendar", "lot.view", "lot_calendar"),) if lot.kind == LotKind.SEED else ()
    actions = _doable(lot, user, *steps, *tools)
    return _with(table, "treatments", actions)


def storage_part(lot, rows, user):
    """Storage log; `rows` are (record, warnings)."""
    columns = (
        Column("On", lambda row: row[0].on, kind="date"),
        Column("Kept at", lambda row: row[0].place),
        Column("Temperature (°C)", lambda row: _number(row[0].temperature_c), "right"),
        Column("Feels", lambda row: row[0].get_feel_display()),
        Column("Sprouted (%)", lambda row: _number(row[0].sprouted_percent), "right"),
        Column("Mouldy (%)", lambda row: _number(row[0].mouldy_percent), "right"),
        Column(f"Thrown away ({lot.unit})", lambda row: -row[0].entry.quantity if row[0].entry else None, "right", "number"),
        Column("Note", lambda row: " ".join([*row[1], row[0].note]).strip()),
        Column("By", lambda row: row[0].by, kind="soft"),
    )
    table = ledger_table("Storage", columns, rows, unit="looks", empty="Nobody has looked into the store yet.")
    steps = () if lot.closed_on else (("Enter a look into the store", "storage.enter", "lot_store"),)
    return _with(table, "storage", _doable(lot, user, *steps))


def stratification_part(steps, handbook):
    book = f"{handbook.binomial}: {periods_words(handbook)}. Handbook row {verified_words(handbook)}."
    note = f"Counted from the start of the treatment that goes on. {book}"
    return calendar_part(steps, note)


def account_part(lot, account):
    columns = (
        Column("What", lambda line: line.kind.capitalize()),
        Column(f"In or out ({lot.unit})", lambda line: f"{line.quantity:+,}".replace("-", "−") if line.quantity else "0", "right"),
        Column("Entries", "entries", "right", "number"),
    )
    if not account.lines:
        note = ""
    elif account.closes:
        note = f"The account closes: {amount_words(account.came_in, lot.unit)} came in, and every one is accounted for."
    else:
        note = f"{account.came_in:,} came in, {account.went_out:,} went out, {amount_words(account.on_hand, lot.unit)} on hand."
    table = ledger_table("Account", columns, account.lines, unit="kinds of entry", note=note, empty="No entry yet.")
    totals = [("On hand", "left", None, None), (account.on_hand, "right", None, "number"), ("", "right", None, "blank")]
    return table | {"id": "account", "totals": totals, "count": None}


def leftovers_part(lot, leftovers):
    columns = (
        Column("On", "on", kind="date"),
        Column(
            "Shipment",
            lambda leftover: leftover.line.shipment.code,
            kind="code",
            url=lambda leftover: reverse_to("shipment_detail", leftover.line.shipment_id),
        ),
        Column("Receiver", lambda leftover: leftover.line.shipment.receiver.name),
        Column("Outcome", "get_outcome_display"),
        Column(f"How many ({lot.unit})", "count", "right", "number"),
        Column("Note", "note"),
    )
    note = "What was shipped and not planted. What came back stands in the ledger as received back."
    return ledger_table("Leftovers of shipments", columns, leftovers, unit="leftovers", note=note) | {"id": "leftovers"}


def components_part(lot, components, user, left):
    """`left` says what has left the bulk already, in words; from then on its components stand."""
    columns = [
        Column("Lot", lambda part: part.component.code, kind="code", url=lambda part: lot_url(part.component)),
        Column(f"Mixed in ({lot.unit})", "count", "right", "number"),
        Column("On", "bulked_on", kind="date"),
        Column("Why", "reason"),
    ]
    note = "The mother of a bulk is “bulk”. It is never guessed from the shares."
    if left:
        note += f" {left} already, so its components stand: start a new bulk lot to add to what is left of it."
    elif user.may("ledger.enter") and not lot.closed_on:
        columns.append(Column("Correct", lambda part: "Take out", url=lambda part: reverse_to("lot_unbulk", part.pk)))
    table = ledger_table("Components", columns, components, unit="lots", note=note, empty="No component entered yet.")
    return table | {"id": "components"}


def shipments_part(lot, lines):
    columns = (
        Column("Shipment", lambda line: line.shipment.code, kind="code", url=lambda line: reverse_to("shipment_detail", line.shipment_id)),
        Column("To", lambda line: line.shipment.receiver.name, url=lambda line: reverse_to("partner_detail", line.shipment.receiver_id)),
        Column("Left on", lambda line: line.shipment.dispatched_on, kind="date"),
        Column("Form", "get_form_display"),
        Column(f"Shipped ({lot.unit})", "quantity", "right", "number"),
        Column("State", lambda line: line.shipment.get_state_display(), kind="state"),
    )
    return ledger_table("Shipments", columns, lines, unit="lines", empty="It went into no shipment yet.") | {"id": "shipments"}


def seed_facts(lot, results, handbook):
    """The lot's own figures first, each with where it comes from; the handbook where the lot has none."""
    figures = lot_figures(lot, results, handbook)
    per_kg = f"{figures.per_kg:,.0f}, by {figures.per_kg_from}" if figures.per_kg else ""
    share = figures.germination_share
    germination = "" if share is None else f"{100 * share:.0f} %, by {figures.germination_from}"
    facts = [("Seeds per kg", per_kg, None), ("Germination", germination, None)]
    if share and figures.purity_share:
        live = pure_live_seed_share(figures.purity_share, share)
        bulk = bulk_per_pure_live_seed(figures.purity_share, share)
        facts.append(("Pure live seed", f"{100 * live:.1f} %: {bulk:.2f} kg of this seed hold 1 kg of it", None))
    if not handbook:
        return [*facts, ("Handbook", f"no row of {lot.taxon.name}", reverse_to("handbook_list"))]
    words = periods_words(handbook) if handbook_periods(handbook) else "no period stated"
    row = (f"{words}; {verified_words(handbook)}", reverse_to("handbook_detail", handbook.pk))
    return [*facts, ("Stratification by the handbook", *row)]


def treatment_words(treatment):
    """'Hot water: 49 °C, 20 minutes, thermometer no. 2'."""
    parts = [
        "" if treatment.temperature_c is None else f"{treatment.temperature_c:g} °C",
        "" if treatment.minutes is None else f"{treatment.minutes:g} minutes",
        f"thermometer {treatment.thermometer}" if treatment.thermometer else "",
        treatment.product,
        f"licence {treatment.licence}" if treatment.licence else "",
        treatment.note,
    ]
    how = ", ".join(part for part in parts if part)
    kind = treatment.get_kind_display().capitalize()
    return f"{kind}: {how}" if how else kind


def _reversed(harvest):
    return getattr(harvest.entry, "reversed_by", None) is not None


def _with(table, key, actions):
    return table | {"id": key, "actions": actions}


def _doable(lot, user, *steps):
    """(label, url) of the (label, action, route) steps this person may do."""
    return allowed(user, *((label, action, reverse_to(route, lot.pk)) for label, action, route in steps))


def _number(value):
    return "" if value is None else f"{value:g}"
