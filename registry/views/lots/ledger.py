"""The ledger: its columns on the page of a lot, the list over all lots, entry and reversal."""

from contextlib import contextmanager

from django.core.exceptions import ValidationError

from registry.calc.shared.screen import amount_words, day_words, unit_words
from registry.forms.lots.lots import LedgerForm, ReverseForm
from registry.forms.shared.filters import LedgerFilters
from registry.imports.kinds import LedgerSheet
from registry.models import LedgerEntry, Lot
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.tables import Column, Link


@contextmanager
def quantity_at(box):
    """Put what the ledger says of a quantity at the box of the form that holds it."""
    try:
        yield
    except ValidationError as error:
        if "quantity" not in getattr(error, "error_dict", ()):
            raise
        raise ValidationError({box if name == "quantity" else name: errors for name, errors in error.error_dict.items()}) from error


def signed(entry):
    return f"{entry.quantity:+,}".replace("-", "−")


def entry_words(entry):
    return f"{entry.get_kind_display()}{' (reversal)' if entry.reverses_id else ''}"


def note_words(entry, reversal=None):
    """Reason, other lot, shipment, and what it reverses or was reversed by."""
    line = entry.shipment_line
    parts = [
        f"reverses the entry of {day_words(entry.reverses.on)}" if entry.reverses else "",
        f"reversed on {day_words(reversal.on)}: {reversal.reason}" if reversal else "",
        entry.reason,
        f"lot {entry.counterpart.code}" if entry.counterpart else "",
        f"shipment {line.shipment.code}" if line else "",
        f"no. {entry.reference}" if entry.reference else "",
    ]
    return "; ".join(part for part in parts if part)


def ledger_columns(unit):
    """The columns of the ledger on the page of a lot counted in `unit`."""
    return (
        Column("On", "entry.on", kind="date"),
        Column("Entry", lambda row: entry_words(row.entry)),
        Column(f"In or out ({unit})", lambda row: signed(row.entry), "right"),
        Column("Balance at the end of the day", "balance", "right", lambda row: "blank" if row.balance is None else "number"),
        Column(
            "Mass (g)",
            lambda row: row.entry.mass_g and f"{row.entry.mass_g:,.0f}",
            "right",
            lambda row: None if row.entry.mass_g else "blank",
        ),
        Column("Note", lambda row: note_words(row.entry, row.reversal), wide=True),
        Column("Entered by", "entry.entered_by", kind="soft"),
    )


REVERSE_COLUMN = Column(
    "Correct",
    lambda row: "Reverse",
    kind=lambda row: None if row.can_reverse else "blank",
    url=lambda row: Link("ledger_reverse").address(row.entry, None) if row.can_reverse else None,
    may="ledger.enter",
)


def ledger_totals(lot):
    return [("On hand", "left", None, None), *[("", "left", None, "blank")] * 2, (lot.balance, "right", None, "number")]


class LedgerListView(RecordListView):
    model = LedgerEntry
    action = "lot.view"
    title = "Ledger of all lots"
    question = "What came in and went out, of which lot, when?"
    unit = "entries"
    sheet = LedgerSheet
    filter_form = LedgerFilters
    others = MATERIAL_LISTS
    related = ("lot", "counterpart", "shipment_line__shipment", "entered_by", "reverses")
    order = ("-on", "-id")
    empty = ("No entries yet", "Add entries on the page of a lot. Shipments and plantings add their own.", None)
    columns = (
        Column("On", "on", kind="date"),
        Column("Lot", "lot.code", kind="code", url=Link("lot_detail", "lot_id")),
        Column("In or out", signed, "right"),
        Column("Counted in", "lot.unit"),
        Column("Entry", entry_words),
        Column("Note", note_words, wide=True),
        Column("Entered by", "entered_by", kind="soft"),
    )


class LotLedgerActionView(RecordActionView):
    """Something done to a lot that its ledger records. The form is given the lot; what the ledger says of a quantity is shown at the
    box named `quantity_box`."""

    model = Lot
    action = "ledger.enter"
    form_extras = property(lambda page: {"lot": page.object})
    quantity_box = "count"

    def perform(self, form):
        with quantity_at(self.quantity_box):
            return super().perform(form)


class LedgerAddView(LotLedgerActionView):
    form_class = LedgerForm
    service = ledger_enter
    quantity_box = "quantity"
    title = "Ledger entry for {object.code}"
    submit_label = "Save the ledger entry"
    success_message = "Ledger entry saved."
    question = property(lambda page: f"What came in or went out? The lot holds {amount_words(page.object.balance, page.object.unit)}.")


class LedgerReverseView(RecordActionView):
    model = LedgerEntry
    action = "ledger.enter"
    form_class = ReverseForm
    service = ledger_reverse
    argument = "entry"
    confirm = True
    title = "Reverse an entry of {object.lot.code}"
    submit_label = "Reverse this entry"
    success_message = "Entry reversed. Enter the right figure as a new entry."
    back_to = property(lambda page: page.object.lot)

    @property
    def text(self):
        entry = self.object
        what = f"{entry.get_kind_display().capitalize()} on {day_words(entry.on)}"
        unit = unit_words(entry.quantity, entry.lot.unit)
        return f"{what}: {signed(entry)} {unit}. The entry stays in the ledger, and its opposite is added."
