"""The sections of the page of a lot. The page reads each set of rows once (see `LotDetailView`)."""

from registry.calc.shared.screen import amount_words
from registry.choices import LotOrigin
from registry.selectors.lots.handbook import verified_words
from registry.views.lots.ledger import REVERSE_COLUMN, ledger_columns, ledger_totals
from registry.views.lots.words import periods_words, treatment_words
from registry.views.movements.leftovers import soft_if_taken_back, take_back_columns, taken_back_note
from registry.views.shared.addresses import yes_no
from registry.views.shared.sections import Action, Section
from registry.views.shared.tables import Column, Link

ENTER_LEDGER = Action("Add a ledger entry", "ledger_add", "ledger.enter", when=lambda page: page.is_open)
ENTER_TEST = Action("Enter a test", "lot_test", "seedtest.enter", when=lambda page: page.is_seed)
ENTER_TREATMENT = Action("Enter a treatment", "lot_treat", "treatment.enter", when=lambda page: page.is_open)
ENTER_STORAGE = Action("Enter a storage check", "lot_store", "storage.enter", when=lambda page: page.is_open)
ADD_COMPONENT = Action(
    "Add a component", "lot_bulk", "ledger.enter",
    when=lambda page: page.is_open and page.is_bulk and not page.left_the_bulk,
)  # fmt: skip
CALENDAR_TOOL = Action("Stratification calendar", "lot_calendar", "lot.view", when=lambda page: page.is_seed)

HARVEST = Section(
    id="harvest",
    title="Harvest",
    unit="pickings",
    rows=lambda page: page.harvests,
    columns=lambda page, _harvests: (
        Column("Picked on", "entry.on", kind="date"),
        Column("Seeds", "entry.quantity", "right", "number"),
        Column("Mass (g)", lambda harvest: harvest.entry.mass_g and f"{harvest.entry.mass_g:,.0f}", "right"),
        Column(page.handbook.fruit.capitalize() if page.handbook and page.handbook.fruit else "Fruits", "fruits", "right", "number"),
        Column("Picked by", "picker"),
        Column("Containers", "containers", "right", "number"),
        Column("Labels in and out", lambda harvest: yes_no(harvest.labels_inside_and_outside)),
        Column("Held by", "holder"),
        Column(
            "Note",
            lambda harvest: "; ".join(filter(None, ["reversed in the ledger" if _reversed(harvest) else "", harvest.note])),
            wide=True,
        ),
    ),
    mark=lambda harvest: "soft" if _reversed(harvest) else "",
    when=lambda page: page.object.origin == LotOrigin.HARVEST or page.harvests,
    missing="harvest facts",
    add=Action("Add a picking", "lot_pick", "ledger.enter", when=lambda page: page.can_be_picked),
)

TESTS = Section(
    id="tests",
    title="Tests",
    unit="tests",
    when=lambda page: page.is_seed,
    rows=lambda page: page.tests,
    columns=(
        Column("Tested on", "test.tested_on", kind="date", url=Link("seedtest_detail", "test.pk")),
        Column("Test and result", lambda result: f"{result.test.get_kind_display().capitalize()}: {result.headline}"),
        Column(
            "Judgement",
            lambda result: "corrected by a later test" if result.superseded_by else result.warning or result.judgement,
            wide=True,
        ),
        Column("Tested by", "test.tested_by", kind="soft"),
    ),
    mark=lambda result: "soft" if result.superseded_by else "",
    missing="tests (float and cut at harvest, germination before sowing)",
    add=ENTER_TEST,
)

TREATMENTS = Section(
    id="treatments",
    title="Treatments",
    unit="treatments",
    when=lambda page: page.is_seed or page.treatments,
    rows=lambda page: page.treatments,
    columns=(
        Column("Started on", "treatment.started_on", kind="date"),
        Column("Treatment", lambda row: treatment_words(row.treatment), wide=True),
        Column("Ended on", "treatment.ended_on", kind="date"),
        Column("Odd", lambda row: "completed by a later entry" if row.completed else " ".join(row.warnings)),
        Column("Done by", "treatment.operator", kind="soft"),
    ),
    mark=lambda row: "soft" if row.completed else "",
    missing="treatments",
    add=ENTER_TREATMENT,
    actions=(CALENDAR_TOOL,),
)


def _handbook_note(page, _steps):
    row = page.handbook
    handbook = f"{row.binomial}: {periods_words(row)}. Handbook row {verified_words(row)}."
    return f"Counted from the first day of the treatment in progress. {handbook}"


def calendar_section(note=""):
    return Section(
        id="calendar",
        title="Stratification calendar",
        unit="steps",
        counted=False,
        note=note,
        rows=lambda page: page.calendar_steps,
        columns=(
            Column("Step", lambda step: step.what.capitalize()),
            Column("Earliest", "earliest", kind="date"),
            Column("Latest", "latest", kind="date"),
        ),
    )


STORAGE = Section(
    id="storage",
    title="Storage",
    unit="storage checks",
    rows=lambda page: page.storage,
    columns=lambda page, _rows: (
        Column("On", lambda row: row[0].on, kind="date"),
        Column("Stored at", lambda row: row[0].place),
        Column("Temperature (°C)", lambda row: _number(row[0].temperature_c), "right"),
        Column("Feels", lambda row: row[0].get_feel_display()),
        Column("Sprouted (%)", lambda row: _number(row[0].sprouted_percent), "right"),
        Column("Mouldy (%)", lambda row: _number(row[0].mouldy_percent), "right"),
        Column(f"Discarded ({page.object.unit})", lambda row: -row[0].entry.quantity if row[0].entry else None, "right", "number"),
        Column("Note", lambda row: " ".join([*row[1], row[0].note]).strip(), wide=True),
        Column("By", lambda row: row[0].by, kind="soft"),
    ),
    missing="storage checks",
    add=ENTER_STORAGE,
)


def _account_note(page, _lines):
    account, unit = page.account, page.object.unit
    if account.closes:
        return f"The account closes: {amount_words(account.came_in, unit)} came in, and all of them are accounted for."
    return f"{account.came_in:,} came in, {account.went_out:,} went out, {amount_words(account.on_hand, unit)} on hand."


def _account_totals(page, _lines):
    return [("On hand", "left", None, None), (page.account.on_hand, "right", None, "number"), ("", "right", None, "blank")]


ACCOUNT = Section(
    id="account",
    title="Account",
    unit="kinds of entry",
    counted=False,
    note=_account_note,
    rows=lambda page: page.account.lines,
    columns=lambda page, _lines: (
        Column("What", lambda line: line.kind.capitalize()),
        Column(f"In or out ({page.object.unit})", lambda line: f"{line.quantity:+,}".replace("-", "−") if line.quantity else "0", "right"),
        Column("Entries", "entries", "right", "number"),
    ),
    totals=_account_totals,
)

LEDGER = Section(
    id="ledger",
    title="Ledger",
    unit="entries",
    note="Entries never change. A wrong one is reversed by its opposite, and both stay in the ledger.",
    rows=lambda page: page.ledger,
    columns=lambda page, rows: (*ledger_columns(page.object.unit), *([REVERSE_COLUMN] if any(row.can_reverse for row in rows) else [])),
    totals=lambda page, _rows: ledger_totals(page.object),
    mark=lambda row: "soft" if row.reversal or row.entry.reverses_id else "",
    missing="ledger entries",
    add=ENTER_LEDGER,
)


def _components_note(page, _components):
    note = "The mother of a bulk is “bulk”. It is never guessed from the shares."
    if not page.left_the_bulk:
        return note
    return f"{note} {page.left_the_bulk} already, so the components are fixed. To add to what is left, start a new bulk lot."


COMPONENTS = Section(
    id="components",
    title="Components",
    unit="lots",
    when=lambda page: page.is_bulk,
    note=_components_note,
    rows=lambda page: page.components,
    columns=lambda page, _components: (
        Column("Lot", "component.code", kind="code", url=Link("lot_detail", "component_id")),
        Column(f"Mixed in ({page.object.unit})", "count", "right", "number"),
        Column("On", "bulked_on", kind="date"),
        Column("Why", "reason", wide=True),
        *([] if page.left_the_bulk or not page.is_open else [_TAKE_OUT]),
    ),
    missing="components",
    add=ADD_COMPONENT,
)
_TAKE_OUT = Column("Correct", lambda part: "Take out", url=Link("lot_unbulk"), may="ledger.enter")

SHIPMENTS = Section(
    id="shipments",
    title="Shipments",
    unit="lines",
    rows=lambda page: page.shipment_lines,
    columns=lambda page, _lines: (
        Column("Shipment", "shipment.code", kind="code", url=Link("shipment_detail", "shipment_id")),
        Column("To", "shipment.receiver.name", url=Link("partner_detail", "shipment.receiver_id"), wide=True),
        Column("Left on", "shipment.dispatched_on", kind="date"),
        Column("Form", "get_form_display"),
        Column(f"Shipped ({page.object.unit})", "quantity", "right", "number"),
        Column("State", "shipment.get_state_display", kind="state"),
    ),
    missing="shipments",
)

LEFTOVERS = Section(
    id="leftovers",
    title="Leftovers of shipments",
    unit="leftovers",
    note="What was shipped and not planted. What came back is in the ledger as received back.",
    rows=lambda page: page.leftovers,
    columns=lambda page, leftovers: (
        Column("On", "on", kind="date"),
        Column("Shipment", "line.shipment.code", kind="code", url=Link("shipment_detail", "line.shipment_id")),
        Column("Receiver", "line.shipment.receiver.name"),
        Column("Outcome", "get_outcome_display"),
        Column(f"How many ({page.object.unit})", "count", "right", "number"),
        Column("Note", taken_back_note, wide=True),
        *take_back_columns(leftovers),
    ),
    mark=soft_if_taken_back,
)

LOT_SECTIONS = (HARVEST, TESTS, TREATMENTS, calendar_section(_handbook_note), STORAGE, ACCOUNT, LEDGER, COMPONENTS, SHIPMENTS, LEFTOVERS)


def _reversed(harvest):
    return getattr(harvest.entry, "reversed_by", None) is not None


def _number(value):
    return "" if value is None else f"{value:g}"
