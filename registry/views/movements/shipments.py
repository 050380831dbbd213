"""Shipments: the list, the page, and what is done to a shipment."""

from django.forms import Form
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import ProgrammeKey, ShipmentState
from registry.compliance.gate.words import DISPATCH
from registry.forms.movements.shipments import CancelForm, ShipmentForm, ShipmentLineForm
from registry.forms.shared.filters import ShipmentFilters
from registry.imports.kinds import ShipmentSheet
from registry.models import Authorization, Receipt, Shipment, ShipmentLine
from registry.selectors.gate.determinations import shipment_answer
from registry.selectors.identity.questions import question_duties
from registry.selectors.movements.shipments import shipment_duties, shipment_lines, shipment_words
from registry.selectors.people.programme import setting
from registry.selectors.permits.authorizations import paper_mark
from registry.services.movements.shipments import shipment_cancel, shipment_dispatch, shipment_line_remove, shipment_line_set
from registry.views.gate.gate import GatedActionView, fresh_part, kept_parts
from registry.views.prints.issued import issued_part, shipment_paper_actions
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

MOVEMENT_LISTS = (
    ("Shipments", "shipment.view", "shipment_list"),
    ("Receipts", "shipment.view", "receipt_list"),
    ("Partners", "partner.view", "partner_list"),
)
AUTHORITY_CAUTION = {
    "title": "Check with the local authority",
    "text": "Whether this shipment needs a permit or a certificate is not decided here.",
}

_BOX_RULE = (
    "Do not ship into a freeze or over a weekend: Monday to Wednesday, insulated box, cold pack not touching the nuts (common practice)."
)


def shipment_url(shipment):
    return reverse("shipment_detail", args=[shipment.pk])


def receipt_words(shipment, today):
    """What is known of the arrival of a listed shipment."""
    if shipment.state != ShipmentState.DISPATCHED:
        return ""
    if shipment.receipts_count:
        return "received" if shipment.receipts_count == 1 else f"{shipment.receipts_count} receipts"
    days = (today - shipment.dispatched_on).days
    return f"none after {amount_words(days, 'days')}"


class ShipmentListView(SectionListView):
    model = Shipment
    action = "shipment.view"
    title = "Shipments"
    question = "What went to whom, and which boxes have no receipt?"
    unit = "shipments"
    sheet = ShipmentSheet
    filter_form = ShipmentFilters
    others = MOVEMENT_LISTS
    add = ("New shipment", "shipment.edit", "shipment_add")
    empty = ("No shipment yet", "A shipment starts as a draft: to whom, then which lots and how many.", None)

    @property
    def columns(self):
        today = timezone.localdate()
        return (
            Column("Shipment", "code", kind="code", url=shipment_url),
            Column("To", "receiver.name", url=lambda shipment: reverse_to("partner_detail", shipment.receiver_id)),
            Column("State", "get_state_display", kind="state"),
            Column("Planned", "planned_on", kind="date"),
            Column("Left on", "dispatched_on", kind="date"),
            Column("Quantity (seeds or plants)", "quantity", "right", "number"),
            Column("Receipt", lambda shipment: receipt_words(shipment, today)),
        )

    @cached_property
    def receipt_days(self):
        return setting(ProgrammeKey.RECEIPT_DAYS)

    def row_mark(self, shipment):
        if shipment.state == ShipmentState.CANCELLED:
            return "soft"
        waiting = shipment.state == ShipmentState.DISPATCHED and not shipment.receipts_count
        return "late" if waiting and (timezone.localdate() - shipment.dispatched_on).days > self.receipt_days else ""


class ShipmentDetailView(RecordDetailView):
    model = Shipment
    action = "shipment.view"
    question = "What is in it, for whom, on what paper, and did it arrive?"

    def get_queryset(self):
        return super().get_queryset().select_related("receiver")

    def get_page(self):
        shipment = self.object
        self.balances = shipment_lines(shipment)
        return {
            "code": shipment.code,
            "state": shipment.get_state_display(),
            "where": f"to {shipment.receiver.name}",
            "chain": self.get_chain(),
            "due": self.get_due(),
            "actions": self.get_actions(),
            "facts": self.get_facts(),
            "parts": [
                *self.gate_parts(),
                self.lines_table(),
                self.receipts_table(),
                self.papers_table(),
                *self.issued_table(),
            ],
        }

    def get_due(self):
        duties = shipment_duties(self.object, self.balances, timezone.localdate())
        marked = question_duties({balance.line.lot_id for balance in self.balances}) if self.request.user.may("identity.view") else []
        return marked + duties

    def get_chain(self):
        shipment, user = self.object, self.request.user
        lots = [balance.line.lot for balance in self.balances]
        steps = [{"label": f"{lot.kind} lot", "code": lot.code, "url": link(user, "lot.view", "lot_detail", lot.pk)} for lot in lots[:3]]
        if len(lots) > 3:
            steps.append({"label": "and more", "code": f"{len(lots) - 3} lines below"})
        note = shipment.get_state_display()
        steps.append({"label": "shipment", "code": shipment.code, "note": note, "current": True})
        receiver = shipment.receiver
        return [
            *steps,
            {"label": "receiver", "code": receiver.code, "url": reverse_to("partner_detail", receiver.pk), "note": receiver.name},
        ]

    def get_actions(self):
        shipment, user = self.object, self.request.user
        pk = shipment.pk
        change = ("Change the shipment", "shipment.edit", reverse_to("shipment_edit", pk))
        packing = ("Packing list to print", "shipment.view", reverse_to("shipment_packing", pk))
        if shipment.state == ShipmentState.DISPATCHED:
            return allowed(user, ("Enter a receipt", "receipt.enter", reverse_to("receipt_add", pk)), packing, change)
        if shipment.state == ShipmentState.CANCELLED:
            return []
        add = ("Add a lot", "shipment.edit", reverse_to("shipment_line_add", pk))
        cancel = ("Cancel the shipment", "shipment.edit", reverse_to("shipment_cancel", pk))
        if not self.balances:
            return allowed(user, add, change, cancel)
        dispatch = (f"Dispatch {shipment_words(self.balances)}", "shipment.dispatch", reverse_to("shipment_dispatch", pk))
        return allowed(user, dispatch, add, packing, change, cancel)

    def get_facts(self):
        shipment = self.object
        return [
            ("Receiver", str(shipment.receiver), reverse_to("partner_detail", shipment.receiver_id)),
            ("Person who takes it in", shipment.receiving_person, None),
            ("For the site", shipment.site_code, None),
            ("Planned for", f"{day_words(shipment.planned_on)}" if shipment.planned_on else "", None),
            ("Left on", f"{day_words(shipment.dispatched_on)}" if shipment.dispatched_on else "", None),
            ("Carrier", shipment.carrier, None),
            ("Handling line", shipment.handling, None),
            ("Note", shipment.note, None),
        ]

    def gate_parts(self):
        """What the rules and papers say: asked afresh for a draft, as it was kept for one that has left."""
        shipment, user = self.object, self.request.user
        if not user.may("determination.view") or shipment.state == ShipmentState.CANCELLED:
            return []
        if shipment.state == ShipmentState.DRAFT:
            day = max(shipment.planned_on or timezone.localdate(), timezone.localdate())
            return [fresh_part(user, shipment_answer(shipment, day))] if self.balances else []
        words = "It was written down long after it left, so the gate was not asked."
        return kept_parts(user, shipment.code, DISPATCH, words)

    def lines_table(self):
        user, draft = self.request.user, self.object.state == ShipmentState.DRAFT
        columns = [
            Column(
                "Lot",
                lambda balance: balance.line.lot.code,
                kind="code",
                url=lambda balance: link(user, "lot.view", "lot_detail", balance.line.lot_id),
            ),
            Column("Form", lambda balance: balance.line.get_form_display()),
            Column("Shipped", lambda balance: balance.line.quantity, "right", "number"),
            Column("Counted in", lambda balance: balance.line.lot.unit),
        ]
        if draft and user.may("shipment.edit"):
            columns += [
                Column("Change", lambda balance: "Take it out", url=lambda balance: reverse_to("shipment_line_remove", balance.line.pk))
            ]
        if any(balance.short is not None for balance in self.balances):
            columns += [Column(name.capitalize(), name, "right", "number") for name in ("sound", "sprouted", "spoiled", "short")]
        return ledger_table(
            "What is in it", columns, self.balances, unit="lines", mark=lambda balance: "odd" if balance.short else "",
            empty="No lot yet. Add the lots it carries.",
        )  # fmt: skip

    def receipts_table(self):
        columns = (
            Column("Received on", "received_on", kind="date", url=lambda receipt: reverse_to("receipt_detail", receipt.pk)),
            Column("By", "received_by"),
            Column("Box", "get_box_condition_display"),
            Column("Temperature (°C)", "temperature_c", "right"),
            Column("Note", "note"),
        )
        receipts = self.scoped(Receipt).filter(shipment=self.object)
        empty = "No receipt. Until there is one, its arrival is an open question."
        return ledger_table(
            "Receipts", columns, receipts, unit="receipts", empty=empty if self.object.dispatched_on else "It has not left yet."
        )

    def issued_table(self):
        return issued_part(self.request.user, self.object, shipment_paper_actions(self.request.user, self.object))

    def papers_table(self):
        user = self.request.user
        columns = (
            Column("Paper", "code", kind="code", url=lambda paper: link(user, "authorization.view", "authorization_detail", paper.pk)),
            Column("Type", "get_type_display"),
            Column("Issuer", "issuer"),
            Column("Issuer's reference", "issuer_reference"),
            Column("State", "get_state_display", kind="state"),
            Column("Until", "ends_on", kind="date"),
        )
        today = timezone.localdate()
        papers = Authorization.objects.filter(shipments=self.object)
        note = "Which papers it needs is not decided here. Check with the local authority."
        empty = "No paper is attached. Check with the local authority whether one is needed."
        return ledger_table(
            "Papers attached", columns, papers, unit="papers", note=note, empty=empty, mark=lambda paper: paper_mark(paper, today)
        )


class ShipmentFormView(SectionFormView):
    model = Shipment
    action = "shipment.edit"
    form_class = ShipmentForm
    question = "To whom does it go, when, and on what paper?"
    submit_label = "Save the shipment"


class ShipmentLineAddView(RecordActionView):
    model = Shipment
    action = "shipment.edit"
    form_class = ShipmentLineForm
    question = "Which lot goes in, and how much of it?"
    submit_label = "Put it in the shipment"
    success_message = "It is in the draft. Nothing has left the lot yet."

    def get_title(self):
        return f"Add a lot to {self.object.code}"

    def perform(self, form):
        return shipment_line_set(actor=self.request.user, shipment=self.object, **form.cleaned_data)


class ShipmentLineRemoveView(RecordActionView):
    model = ShipmentLine
    action = "shipment.edit"
    form_class = Form
    template_name = "generic/confirm.html"
    submit_label = "Take it out"
    success_message = "Taken out of the draft."

    def get_title(self):
        return f"Take {self.object.lot.code} out of {self.object.shipment.code}"

    def get_cancel_url(self):
        return shipment_url(self.object.shipment)

    def perform(self, form):
        shipment_line_remove(actor=self.request.user, line=self.object)


class ShipmentDispatchView(GatedActionView):
    model = Shipment
    action = "shipment.dispatch"
    day_label = "Left on"
    question = "Has it left? The ledgers of its lots are drawn down, and it can be changed no more."

    def get_title(self):
        return f"Dispatch {self.object.code}"

    def ask(self, day):
        return shipment_answer(self.object, day)

    def get_cautions(self):
        odd = [duty.text for duty in shipment_duties(self.object, shipment_lines(self.object), timezone.localdate())]
        cautions = [AUTHORITY_CAUTION | {"lines": [_BOX_RULE]}]
        return [*cautions, {"title": "Look at this first", "lines": odd}] if odd else cautions

    def act(self, form, override_reason):
        on = form.cleaned_data["on"]
        return shipment_dispatch(actor=self.request.user, shipment=self.object, on=on, override_reason=override_reason)

    def get_success_message(self):
        return f"{self.object.code} is on its way. Its arrival is open until the receiver enters a receipt."

    def get_context_data(self, **kwargs):
        balances = shipment_lines(self.object)
        words = shipment_words(balances)
        lots = ", ".join(f"{balance.line.quantity:,} of {balance.line.lot.code}" for balance in balances)
        page = {
            "text": f"To {self.object.receiver.name}: {lots or 'nothing yet'}.",
            "submit_label": f"Dispatch {words}" if words else "Dispatch",
        }
        return super().get_context_data(**kwargs) | page


class ShipmentCancelView(RecordActionView):
    model = Shipment
    action = "shipment.edit"
    form_class = CancelForm
    template_name = "generic/confirm.html"
    submit_label = "Cancel the shipment"
    success_message = "Cancelled. It stays in the book."

    def get_title(self):
        return f"Cancel {self.object.code}"

    def perform(self, form):
        return shipment_cancel(actor=self.request.user, shipment=self.object, reason=form.cleaned_data["reason"])
