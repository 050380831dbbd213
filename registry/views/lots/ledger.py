"""The ledger: its part on the page of a lot, the list over all lots, entry and reversal."""

from contextlib import contextmanager

from django.core.exceptions import ValidationError
from django.urls import reverse

from registry.calc.shared.screen import amount_words, day_words
from registry.forms.lots.lots import LedgerForm, ReverseForm
from registry.forms.shared.filters import LedgerFilters
from registry.imports.kinds import LedgerSheet
from registry.models import LedgerEntry, Lot
from registry.services.lots.ledger import ledger_enter, ledger_reverse
from registry.views.pedigree.taxa import MATERIAL_LISTS, lot_url
from registry.views.shared.generic import RecordActionView, reverse_to
from registry.views.shared.section_views import SectionListView
from registry.views.shared.tables import Column, ledger_table


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


def note_words(entry, reversal=None):
    """Reason, other lot, shipment, and how the entry stands to its reversal."""
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


def ledger_part(lot, rows, user):
    """The ledger of a lot as a part of its page."""
    columns = [
        Column("On", lambda row: row.entry.on, kind="date"),
        Column("Entry", lambda row: f"{row.entry.get_kind_display()}{' (reversal)' if row.entry.reverses_id else ''}"),
        Column(f"In or out ({lot.unit})", lambda row: signed(row.entry), "right"),
        Column(
            "Balance at the close of the day", lambda row: row.balance, "right", lambda row: "blank" if row.balance is None else "number"
        ),
        Column(
            "Mass (g)",
            lambda row: row.entry.mass_g and f"{row.entry.mass_g:,.0f}",
            "right",
            lambda row: None if row.entry.mass_g else "blank",
        ),
        Column("Note", lambda row: note_words(row.entry, row.reversal), wide=True),
        Column("Entered by", lambda row: str(row.entry.entered_by), kind="soft"),
    ]
    if user.may("ledger.enter") and any(row.can_reverse for row in rows):
        columns.append(
            Column(
                "Correct", lambda row: "Reverse", kind=lambda row: None if row.can_reverse else "blank",
                url=lambda row: reverse_to("ledger_reverse", row.entry.pk) if row.can_reverse else None,
            )
        )  # fmt: skip
    table = ledger_table(
        "Ledger", columns, rows, unit="entries", empty="No entry yet.",
        mark=lambda row: "soft" if row.reversal or row.entry.reverses_id else "",
        note="Entries never change. A wrong one is reversed by its opposite, and both stay.",
    )  # fmt: skip
    total = [("On hand", "left", None, None)] + [("", "left", None, "blank")] * (len(columns) - 1)
    total[3] = (lot.balance, "right", None, "number")
    return table | {"totals": total}


class LedgerListView(SectionListView):
    model = LedgerEntry
    action = "lot.view"
    title = "Ledger of all lots"
    question = "What came in and went out, of which lot, when?"
    unit = "entries"
    sheet = LedgerSheet
    filter_form = LedgerFilters
    others = MATERIAL_LISTS
    empty = ("No entry yet", "Entries are made on the page of a lot. Shipments and plantings write their own.", None)
    columns = (
        Column("On", "on", kind="date"),
        Column("Lot", "lot.code", kind="code", url=lambda entry: lot_url(entry.lot)),
        Column("In or out", signed, "right"),
        Column("Counted in", "lot.unit"),
        Column("Entry", lambda entry: f"{entry.get_kind_display()}{' (reversal)' if entry.reverses_id else ''}"),
        Column("Note", note_words, wide=True),
        Column("Entered by", lambda entry: str(entry.entered_by), kind="soft"),
    )

    def get_queryset(self):
        related = ("lot", "counterpart", "shipment_line__shipment", "entered_by", "reverses")
        return super().get_queryset().select_related(*related).order_by("-on", "-id")


class LedgerAddView(RecordActionView):
    model = Lot
    action = "ledger.enter"
    form_class = LedgerForm
    submit_label = "Enter it in the ledger"
    success_message = "Entered."

    def get_title(self):
        return f"Ledger entry for {self.object.code}"

    def get_question(self):
        return f"What came in or went out? The lot holds {amount_words(self.object.balance, self.object.unit)}."

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"lot": self.object}

    def perform(self, form):
        return ledger_enter(actor=self.request.user, lot=self.object, **form.cleaned_data)

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"question": self.get_question()}


class LedgerReverseView(RecordActionView):
    model = LedgerEntry
    action = "ledger.enter"
    form_class = ReverseForm
    template_name = "generic/confirm.html"
    submit_label = "Reverse this entry"
    success_message = "Reversed. Enter the right figure as a new entry."

    def get_title(self):
        return f"Reverse an entry of {self.object.lot.code}"

    def get_cancel_url(self):
        return reverse("lot_detail", args=[self.object.lot_id])

    def perform(self, form):
        return ledger_reverse(actor=self.request.user, entry=self.object, **form.cleaned_data)

    def get_context_data(self, **kwargs):
        entry = self.object
        what = f"{entry.get_kind_display().capitalize()} on {day_words(entry.on)}: {signed(entry)} {entry.lot.unit}."
        return super().get_context_data(**kwargs) | {"text": f"{what} The entry stays, and its opposite is written beside it."}
