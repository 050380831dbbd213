"""Receipts: what the receiver found. Entered by the receiver or by the office for them."""

from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from registry.forms.movements.shipments import ReceiptForm, TakeBackForm
from registry.forms.shared.filters import ReceiptFilters
from registry.imports.kinds import ReceiptSheet
from registry.models import Receipt, ReceiptLine, Shipment
from registry.selectors.movements.shipments import shipment_lines
from registry.selectors.shared.local_units import local_amount, local_unit
from registry.selectors.shared.local_words import local_day, local_number
from registry.services.movements.shipments import receipt_enter
from registry.services.movements.taking_back import receipt_take_back
from registry.views.movements.leftovers import taken_back_words
from registry.views.movements.shipments import MOVEMENT_LISTS
from registry.views.shared.addresses import record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

RECEIPT_QUESTION = gettext_lazy("What was in the box when you opened it? Count, do not copy the packing list.")
_COUNTS = (
    Column(gettext_lazy("Sound"), "sound", "right", "number"),
    Column(gettext_lazy("Sprouted"), "sprouted", "right", "number"),
    Column(gettext_lazy("Spoiled"), "spoiled", "right", "number"),
    Column(gettext_lazy("Counted in"), lambda line: local_unit(2, line.line.lot.unit)),
)


class ReceiptListView(RecordListView):
    """One row for each lot in a received box."""

    model = ReceiptLine
    action = "shipment.view"
    title = gettext_lazy("Receipts")
    question = gettext_lazy("What arrived, when, and in what condition?")
    unit = "lines"
    sheet = ReceiptSheet
    filter_form = ReceiptFilters
    others = MOVEMENT_LISTS
    read = staticmethod(lambda lines: lines.in_effect())
    related = ("receipt__shipment", "line__lot")
    order = ("-receipt__received_on", "-receipt", "line__lot__code")
    empty = (
        gettext_lazy("No receipt yet"),
        gettext_lazy("The receiver, or the office for them, enters a receipt on the page of the shipment."),
        None,
    )
    columns = (
        Column(gettext_lazy("Received on"), "receipt.received_on", kind="date", url=Link("receipt_detail", "receipt_id")),
        Column(gettext_lazy("Lot"), "line.lot.code", kind="code"),
        *_COUNTS,
        Column(gettext_lazy("Box"), "receipt.get_box_condition_display"),
        Column(gettext_lazy("Shipment"), "receipt.shipment.code", kind="code", url=Link("shipment_detail", "receipt.shipment_id")),
        Column(gettext_lazy("Received by"), "receipt.received_by"),
    )


class ReceiptDetailView(RecordDetailView):
    model = Receipt
    action = "shipment.view"
    question = gettext_lazy("What did the receiver find in the box?")
    related = ("shipment__receiver", "entered_by", "taken_back_by")
    title = gettext_lazy("Receipt of {object.shipment.code}")
    where = property(lambda page: _("received %(day)s") % {"day": local_day(page.object.received_on)})
    facts = (
        Fact(gettext_lazy("Received by"), "received_by"),
        Fact(
            gettext_lazy("Temperature in the box"),
            lambda page: "" if page.object.temperature_c is None else local_number(f"{page.object.temperature_c:g} °C"),
        ),
        Fact(gettext_lazy("Entered by"), lambda page: f"{page.object.entered_by}, {local_day(page.object.entered_at)}"),
        Fact(gettext_lazy("Note"), "note"),
        Fact(gettext_lazy("Taken back"), lambda page: taken_back_words(page.object)),
    )
    actions = (
        Action("Take the receipt back", "receipt_take_back", "receipt.take_back", when=lambda page: page.object.taken_back_at is None),
    )  # fmt: skip
    sections = (
        Section(
            title=gettext_lazy("What was in it"),
            unit="lines",
            note=gettext_lazy("What is short is calculated over all receipts, on the page of the shipment."),
            rows=lambda page: page.object.lines.select_related("line__lot").order_by("line__lot__code"),
            columns=(
                Column(gettext_lazy("Lot"), "line.lot.code", kind="code", url=Link("lot_detail", "line.lot_id", "lot.view")),
                Column(gettext_lazy("Form"), "line.get_form_display"),
                *_COUNTS,
            ),
            missing=gettext_lazy("counts"),
        ),
    )

    @property
    def state(self):
        if self.object.taken_back_at:
            return gettext_lazy("taken back")
        return _("box %(condition)s") % {"condition": self.object.get_box_condition_display()}

    def get_chain(self):
        shipment = self.object.shipment
        left = _("left %(day)s") % {"day": local_day(shipment.dispatched_on)} if shipment.dispatched_on else shipment.get_state_display()
        return [
            chain_step(gettext_lazy("shipment"), shipment.code, record_url(shipment), left),
            chain_step(gettext_lazy("receipt"), local_day(self.object.received_on), current=True),
        ]


class ReceiptTakeBackView(RecordActionView):
    model = Receipt
    action = "receipt.take_back"
    form_class = TakeBackForm
    confirm = True
    title = "Take back the receipt of {object.shipment.code}"
    submit_label = "Take the receipt back"
    success_message = "Receipt taken back. It stays on file and counts nowhere."
    service = receipt_take_back
    text = "For a receipt entered by mistake. Then enter the right one on the page of the shipment, if the box arrived."


class ReceiptAddView(RecordActionView):
    model = Shipment
    action = "receipt.enter"
    form_class = ReceiptForm
    service = receipt_enter
    form_extras = property(lambda page: {"lines": [balance.line for balance in page.balances]})
    template_name = "registry/movements/receipt_form.html"
    title = gettext_lazy("Receipt of {object.code}")
    question = RECEIPT_QUESTION
    submit_label = gettext_lazy("Save the receipt")
    person_box = "received_by"

    balances = cached_property(lambda page: shipment_lines(page.object))

    @property
    def success_message(self):
        short = [
            _("%(count)s of %(lot)s") % {"count": local_amount(balance.short, balance.line.lot.unit), "lot": balance.line.lot.code}
            for balance in shipment_lines(self.object)
            if balance.short
        ]
        if not short:
            return _("Receipt saved. Nothing is short.")
        return _("Receipt saved. Short: %(lots)s.") % {"lots": ", ".join(short)}

    def get_context_data(self, **kwargs):
        context = super().get_context_data(**kwargs)
        return context | {"grid": receipt_grid(context["form"], self.balances)}


def receipt_grid(form, balances):
    """The boxes for what was counted, a row for each line of the shipment, as the form's template takes them."""
    rows = [
        {"code": balance.line.lot.code, "place": _shipped_words(balance), "fields": form.count_fields(balance.line)} for balance in balances
    ]
    return {"caption": _("What you counted, lot by lot"), "columns": form.count_columns(), "rows": rows, "row_label": _("Lot, shipped")}


def _shipped_words(balance):
    words = count_words(balance.line.quantity, balance.line.lot.unit)
    if not balance.received:
        return words
    return _("%(shipped)s, %(count)s received") % {"shipped": words, "count": f"{balance.received:,}"}


def count_words(count, unit):
    """A count of seeds or plants as landowners read it, who may read another language than the office."""
    seeds, plants = ngettext("%(count)s seed", "%(count)s seeds", count), ngettext("%(count)s plant", "%(count)s plants", count)
    return (seeds if unit == "seeds" else plants) % {"count": f"{count:,}"}
