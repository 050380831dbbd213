"""Receipts: what the receiver found. Entered by the receiver or by the office for them."""

from django.urls import reverse

from registry.calc.shared.screen import amount_words, day_words
from registry.forms.movements.shipments import ReceiptForm
from registry.forms.shared.filters import ReceiptFilters
from registry.imports.kinds import ReceiptSheet
from registry.models import Receipt, ReceiptLine, Shipment
from registry.selectors.movements.shipments import shipment_lines
from registry.services.movements.shipments import receipt_enter
from registry.views.movements.shipments import MOVEMENT_LISTS, shipment_url
from registry.views.shared.generic import RecordActionView, RecordDetailView
from registry.views.shared.section_views import SectionListView, link
from registry.views.shared.tables import Column, ledger_table


def receipt_url(receipt):
    return reverse("receipt_detail", args=[receipt.pk])


class ReceiptListView(SectionListView):
    """One row for each lot in a received box."""

    model = ReceiptLine
    action = "shipment.view"
    title = "Receipts"
    question = "What arrived, when, and in what condition?"
    unit = "lines"
    sheet = ReceiptSheet
    filter_form = ReceiptFilters
    others = MOVEMENT_LISTS
    empty = ("No receipt yet", "A receipt is entered on the page of its shipment, by the receiver or for them.", None)
    columns = (
        Column("Received on", "receipt.received_on", kind="date", url=lambda part: receipt_url(part.receipt)),
        Column("Shipment", "receipt.shipment.code", kind="code", url=lambda part: shipment_url(part.receipt.shipment)),
        Column("Lot", "line.lot.code", kind="code"),
        Column("Sound", "sound", "right", "number"),
        Column("Sprouted", "sprouted", "right", "number"),
        Column("Spoiled", "spoiled", "right", "number"),
        Column("Counted in", "line.lot.unit"),
        Column("Box", "receipt.get_box_condition_display"),
        Column("Received by", "receipt.received_by"),
    )

    def get_queryset(self):
        related = ("receipt__shipment", "line__lot")
        return super().get_queryset().select_related(*related).order_by("-receipt__received_on", "-receipt", "line__lot__code")


class ReceiptDetailView(RecordDetailView):
    model = Receipt
    action = "shipment.view"
    question = "What did the receiver find in the box?"

    def get_queryset(self):
        return super().get_queryset().select_related("shipment__receiver", "entered_by")

    def get_title(self):
        return f"Receipt of {self.object.shipment.code}"

    def get_page(self):
        receipt = self.object
        shipment = receipt.shipment
        return {
            "state": f"box {receipt.get_box_condition_display()}",
            "where": f"received {day_words(receipt.received_on)}",
            "chain": [
                {
                    "label": "shipment",
                    "code": shipment.code,
                    "url": shipment_url(shipment),
                    "note": f"left {day_words(shipment.dispatched_on)}",
                },
                {"label": "receipt", "code": f"{day_words(receipt.received_on)}", "current": True},
            ],
            "facts": [
                ("Received by", receipt.received_by, None),
                ("Temperature in the box", "" if receipt.temperature_c is None else f"{receipt.temperature_c:g} °C", None),
                ("Entered by", f"{receipt.entered_by}, {day_words(receipt.entered_at)}", None),
                ("Note", receipt.note, None),
            ],
            "parts": [self.counts_table()],
        }

    def counts_table(self):
        user = self.request.user
        columns = (
            Column("Lot", "line.lot.code", kind="code", url=lambda part: link(user, "lot.view", "lot_detail", part.line.lot_id)),
            Column("Form", "line.get_form_display"),
            Column("Sound", "sound", "right", "number"),
            Column("Sprouted", "sprouted", "right", "number"),
            Column("Spoiled", "spoiled", "right", "number"),
            Column("Counted in", "line.lot.unit"),
        )
        parts = self.object.lines.select_related("line__lot").order_by("line__lot__code")
        note = "What is short is counted over all receipts, on the page of the shipment."
        return ledger_table("What was in it", columns, parts, unit="lines", note=note)


class ReceiptAddView(RecordActionView):
    model = Shipment
    action = "receipt.enter"
    form_class = ReceiptForm
    template_name = "registry/movements/receipt_form.html"
    question = "What was in the box when you opened it? Count, do not copy the packing list."
    submit_label = "Send the receipt"

    def get_title(self):
        return f"Receipt of {self.object.code}"

    def get_initial(self):
        return {"received_by": str(self.request.user)}

    def get_form_kwargs(self):
        self.balances = shipment_lines(self.object)
        return super().get_form_kwargs() | {"lines": [balance.line for balance in self.balances]}

    def perform(self, form):
        head = {name: form.cleaned_data[name] for name in form.Meta.fields}
        return receipt_enter(actor=self.request.user, shipment=self.object, counts=form.counts, **head)

    def get_success_message(self):
        short = [
            f"{amount_words(balance.short, balance.line.lot.unit)} of {balance.line.lot.code}"
            for balance in shipment_lines(self.object)
            if balance.short
        ]
        return f"The receipt is in the book. Short: {', '.join(short)}." if short else "The receipt is in the book. Nothing is short."

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        form = context["form"]
        rows = [
            {"code": balance.line.lot.code, "place": shipped_words(balance), "fields": form.count_fields(balance.line)}
            for balance in self.balances
        ]
        grid = {"caption": "What you counted, lot by lot", "columns": form.count_columns(), "rows": rows, "row_label": "Lot, shipped"}
        return context | {"grid": grid}


def shipped_words(balance):
    words = amount_words(balance.line.quantity, balance.line.lot.unit)
    return f"{words}, {balance.received:,} received" if balance.received else words
