"""Shipments: the list and the page of one."""

from django.utils import timezone
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext

from registry.choices import LOT_KIND_WORDS, ProgrammeKey, ShipmentState
from registry.compliance.gate.words import DISPATCH
from registry.forms.movements.shipments import RECEIVING_PERSON
from registry.forms.shared.filters import ShipmentFilters
from registry.imports.kinds import ShipmentSheet
from registry.models import Receipt, Shipment
from registry.selectors.gate.determinations import determinations_of, stored_answer
from registry.selectors.identity.questions import question_duties
from registry.selectors.movements.papers import shipment_day, shipment_papers, shipment_said
from registry.selectors.movements.shared_papers import draft_paper_duties
from registry.selectors.movements.shipments import shipment_duties, shipment_lines, shipment_words
from registry.selectors.people.programme import setting
from registry.selectors.permits.authorizations import chosen_paper_duties, paper_mark
from registry.selectors.permits.local_papers import paper_state, paper_type
from registry.selectors.shared.local_units import local_amount, local_unit
from registry.views.gate.gate import fresh_part, other_answers, released_parts
from registry.views.movements.leftovers import ENTER_LEFTOVER, LEFTOVERS_OF_SHIPMENT, leftovers_of, soft_if_taken_back, taken_back_note
from registry.views.prints.issued import PRINTS
from registry.views.shared.addresses import link, record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

MOVEMENT_LISTS = (
    (_("Shipments"), "shipment.view", "shipment_list"),
    (_("Receipts"), "shipment.view", "receipt_list"),
    (_("Partners"), "partner.view", "partner_list"),
)

_STEPS_MAX = 3


def receipt_words(shipment, today):
    """Whether a listed shipment was received, in words."""
    if shipment.state != ShipmentState.DISPATCHED:
        return ""
    if shipment.receipts_count:
        return pgettext("shipment", "received") if shipment.receipts_count == 1 else local_amount(shipment.receipts_count, "receipts")
    days = (today - shipment.dispatched_on).days
    return _("none after %(days)s") % {"days": local_amount(days, "days")}


class ShipmentListView(RecordListView):
    model = Shipment
    action = "shipment.view"
    title = _("Shipments")
    question = _("What was sent to whom, and which shipments have no receipt?")
    sheet = ShipmentSheet
    filter_form = ShipmentFilters
    others = MOVEMENT_LISTS
    add = ("New shipment", "shipment.edit", "shipment_add")
    empty = (_("No shipment yet"), _("A shipment starts as a draft: enter the receiver, then the lots and how many of each."), None)

    receipt_days = cached_property(lambda page: setting(ProgrammeKey.RECEIPT_DAYS))

    @property
    def columns(self):
        return (
            Column(_("Shipment"), "code", kind="code", url=Link("shipment_detail")),
            Column(_("State"), "get_state_display", kind="state"),
            Column(_("Receipt"), lambda shipment: receipt_words(shipment, self.today)),
            Column(_("To"), "receiver.name", url=Link("partner_detail", "receiver_id"), wide=True),
            Column(_("Left on"), "dispatched_on", kind="date"),
            Column(_("Quantity (seeds or plants)"), "quantity", "right", "number"),
            Column(_("Planned"), "planned_on", kind="date"),
        )

    def row_mark(self, shipment):
        if shipment.state == ShipmentState.CANCELLED:
            return "soft"
        waiting = shipment.state == ShipmentState.DISPATCHED and not shipment.receipts_count
        return "late" if waiting and (self.today - shipment.dispatched_on).days > self.receipt_days else ""


_REMOVE = Column("Change", lambda balance: "remove", url=Link("shipment_line_remove", "line.pk"), may="shipment.edit")
_GOES_UNDER = Column(_("Goes under"), lambda balance: ", ".join(balance.line.draw_on), kind="code")
_ARRIVED = (
    Column(_("Sound"), "sound", "right", "number"),
    Column(_("Sprouted"), "sprouted", "right", "number"),
    Column(_("Spoiled"), "spoiled", "right", "number"),
    Column(_("Short"), "short", "right", "number"),
)


def _is_draft(page):
    return page.object.state == ShipmentState.DRAFT


def _has_left(page):
    return page.object.state == ShipmentState.DISPATCHED


class ShipmentDetailView(RecordDetailView):
    model = Shipment
    action = "shipment.view"
    question = _("What is in it, who gets it, which papers go with it, and did it arrive?")
    related = ("receiver",)
    state = "get_state_display"
    where = property(lambda page: _("to %(receiver)s") % {"receiver": page.object.receiver.name})
    facts = (
        Fact(_("Receiver"), "receiver", Link("partner_detail", "receiver_id", "partner.view")),
        Fact(RECEIVING_PERSON, "receiving_person", always=True),
        Fact(_("For the site"), "site_code"),
        Fact(_("Planned for"), "planned_on"),
        Fact(_("Left on"), "dispatched_on"),
        Fact(_("Expected to arrive on"), "arrives_on"),
        Fact(_("Who sends it"), lambda page: ", ".join(page.object.done_by)),
        Fact(_("Carrier"), "carrier"),
        Fact(_("Handling line"), "handling"),
        Fact(_("Note"), "note"),
    )
    actions = (
        Action(_("Enter a receipt"), "receipt_add", "receipt.enter", when=_has_left),
        Action(
            lambda page: f"Dispatch {shipment_words(page.balances)}", "shipment_dispatch", "shipment.dispatch",
            when=lambda page: _is_draft(page) and page.balances,
        ),
        Action("Add a lot", "shipment_line_add", "shipment.edit", when=_is_draft),
        Action(
            _("Print the packing list"), "shipment_packing", "shipment.view",
            when=lambda page: page.balances and page.object.state != ShipmentState.CANCELLED,
        ),
        Action("Change the shipment", "shipment_edit", "shipment.edit", when=lambda page: page.object.state != ShipmentState.CANCELLED),
        Action("Cancel the shipment", "shipment_cancel", "shipment.edit", when=_is_draft),
        Action(
            "Take the dispatch back", "shipment_take_back", "shipment.dispatch",
            when=lambda page: _has_left(page) and not any(receipt.taken_back_at is None for receipt in page.receipts),
        ),
        Action(
            "Print a draft for a phytosanitary certificate", "shipment_health_draft", "print.make",
            when=lambda page: page.balances and page.object.state != ShipmentState.CANCELLED,
        ),
    )  # fmt: skip
    sections = (
        Panel(draw_parts=lambda page: page.gate_parts(), may="determination.view"),
        Section(
            title=_("What is in it"),
            unit="lines",
            rows=lambda page: page.balances,
            columns=lambda page, balances: (
                Column(_("Lot"), "line.lot.code", kind="code", url=Link("lot_detail", "line.lot_id", "lot.view")),
                Column(_("Form"), "line.get_form_display"),
                Column(_("Shipped"), "line.quantity", "right", "number"),
                Column(_("Counted in"), lambda balance: local_unit(2, balance.line.lot.unit)),
                *((_GOES_UNDER,) if any(balance.line.draw_on for balance in balances) else ()),
                *((_REMOVE,) if _is_draft(page) else ()),
                *((*_ARRIVED, ENTER_LEFTOVER) if any(balance.short is not None for balance in balances) else ()),
            ),
            mark=lambda balance: "odd" if balance.short else "",
            missing=_("lots"),
        ),
        Section(
            title=_("Receipts"),
            unit="receipts",
            when=lambda page: _has_left(page) or page.receipts,
            rows=lambda page: page.receipts,
            columns=(
                Column(_("Received on"), "received_on", kind="date", url=Link("receipt_detail")),
                Column(_("By"), "received_by"),
                Column(_("Box"), "get_box_condition_display"),
                Column(_("Temperature (°C)"), "temperature_c", "right"),
                Column(_("Note"), taken_back_note, wide=True),
            ),
            mark=soft_if_taken_back,
            missing=_("receipts"),
        ),
        LEFTOVERS_OF_SHIPMENT,
        Section(
            title=_("Papers it goes under"),
            unit="papers",
            note=_("Which papers it needs is not decided here. Check with the local authority."),
            rows=lambda page: page.papers,
            columns=(
                Column(_("Paper"), "paper.code", kind="code", url=Link("authorization_detail", "paper.pk", "authorization.view")),
                Column(_("How"), "how", wide=True),
                Column(_("Lots"), lambda one: ", ".join(one.lots) or _("all")),
                Column(_("State"), lambda one: paper_state(one.paper), kind="state"),
                Column(_("Until"), "paper.ends_on", kind="date"),
                Column(_("Issuer's reference"), "paper.issuer_reference"),
                Column(_("Type"), lambda one: paper_type(one.paper)),
                Column(_("Issuer"), "paper.issuer", wide=True),
            ),
            mark=lambda one: paper_mark(one.paper, timezone.localdate()),
            missing=_("papers (check with the local authority whether one is needed)"),
        ),
        other_answers("shipment", lambda page: page.gate_records[1]),
        PRINTS,
    )  # fmt: skip

    receipts = cached_property(lambda page: list(page.scoped(Receipt).filter(shipment=page.object).select_related("taken_back_by")))
    leftovers = cached_property(lambda page: leftovers_of(page) if page.receipts else [])
    balances = cached_property(lambda page: shipment_lines(page.object))
    gate_records = cached_property(lambda page: determinations_of(page.object.code, DISPATCH))
    papers = cached_property(lambda page: shipment_papers(page.object, page.answer, page.today))

    def get_due(self):
        marked = question_duties({balance.line.lot_id for balance in self.balances}) if self.may("identity.view") else []
        papers = chosen_paper_duties(self.object, shipment_day(self.object, self.today)) if _is_draft(self) else []
        if _is_draft(self) and self.may("authorization.view"):
            papers += draft_paper_duties(self.object, self.papers, self.answer, self.today)
        return marked + shipment_duties(self.object, self.balances, self.today, sees_lots=self.may("lot.view")) + papers

    def get_chain(self):
        shipment, receiver = self.object, self.object.receiver
        lots = [balance.line.lot for balance in self.balances]
        steps = [
            chain_step(LOT_KIND_WORDS[lot.kind], lot.code, link(self.user, "lot.view", "lot_detail", lot.pk)) for lot in lots[:_STEPS_MAX]
        ]
        if len(lots) > _STEPS_MAX:
            steps.append(chain_step(_("lots"), _("and %(number)s more") % {"number": len(lots) - _STEPS_MAX}, note=_("see below")))
        return [
            *steps,
            chain_step(_("shipment"), shipment.code, note=shipment.get_state_display(), current=True),
            chain_step(_("receiver"), receiver.code, record_url(receiver), receiver.name),
        ]

    @cached_property
    def answer(self):
        """What the gate said when it left, or says of a draft; None where it was not asked, or does not concern a cancelled one."""
        released, _others = self.gate_records
        if _has_left(self):
            return stored_answer(released[0]) if released else None
        return shipment_said(self.object, self.today) if _is_draft(self) and self.balances else None

    def gate_parts(self):
        """What the rules and papers say: today's answer for a draft, the one it went by for a shipment that has left."""
        if _has_left(self):
            return released_parts(self.user, self.gate_records[0], "It was recorded after it had left, so the gate gave no answer.")
        return [fresh_part(self.user, self.answer)] if self.answer else []
