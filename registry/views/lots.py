"""Lots: the list, the page of a lot, its forms."""

from django.utils import timezone

from registry.calc.amounts import amount_words
from registry.choices import LotOrigin
from registry.forms.filters import LotFilters
from registry.forms.lots import BulkForm, LotForm
from registry.imports.kinds import LotSheet
from registry.models import Lot, LotComponent, ShipmentLine
from registry.selectors.lineage import lot_lineages
from registry.selectors.lots import lot_ancestors, lot_duties, lot_ledger
from registry.services.ledger import lot_bulk
from registry.views.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.ledger import ledger_part
from registry.views.material import MATERIAL_LISTS, lot_url
from registry.views.pedigree import tree_url
from registry.views.sections import SectionFormView, SectionListView, allowed
from registry.views.tables import Column, ledger_table

_STEPS_MAX = 3


def origin_words(lot):
    if lot.mother:
        return lot.mother.code
    if lot.parent:
        return f"raised from {lot.parent.code}"
    return "bulk" if lot.origin == LotOrigin.BULK else lot.outside_origin


def kind_words(lot):
    return f"{lot.kind} lot"


class LotListView(SectionListView):
    model = Lot
    action = "lot.view"
    title = "Lots"
    question = "Which seed and stock is there, of which mother, and until when is it good?"
    unit = "lots"
    sheet = LotSheet
    filter_form = LotFilters
    others = MATERIAL_LISTS
    add = ("New lot", "lot.edit", "lot_add")
    empty = ("No lot yet", "A lot starts with a harvest from one mother tree, or with what was received from outside.", None)
    columns = (
        Column("Lot", "code", kind="code", url=lot_url),
        Column("Kind", "kind"),
        Column(
            "Mother or origin",
            origin_words,
            kind=lambda lot: "code" if lot.mother else None,
            url=lambda lot: lot.mother and tree_url(lot.mother),
        ),
        Column("Year", "year", "right"),
        Column("Generation", "generation_code"),
        Column("On hand (seeds or plants)", "balance", "right", "number"),
        Column("Use by", "use_by", kind="date"),
        Column("Taxon", "taxon.name", kind="latin"),
    )

    def get_queryset(self):
        self.today = timezone.localdate()
        return super().get_queryset()

    def row_mark(self, lot):
        if lot.balance and lot.use_by and lot.use_by < self.today:
            return "late"
        return "" if lot.balance else "soft"


class LotDetailView(RecordDetailView):
    model = Lot
    action = "lot.view"
    question = "What is in this lot, where did it come from, and where did it go?"

    def get_queryset(self):
        return super().get_queryset().select_related("taxon", "mother", "father", "pollen_pool", "parent")

    def get_page(self):
        lot = self.object
        self.components = list(lot.components.select_related("component").order_by("bulked_on", "component__code"))
        self.ledger = lot_ledger(lot)
        duties = lot_duties(lot, timezone.localdate(), has_ledger=bool(self.ledger), has_components=bool(self.components))
        return {
            "code": lot.code,
            "state": f"{amount_words(lot.balance, lot.unit)} on hand",
            "where": ", ".join(part for part in (kind_words(lot), lot.storage_place) if part),
            "chain": self.get_chain(),
            "due": duties,
            "actions": self.get_actions(),
            "facts": self.get_facts(),
            "parts": self.get_parts(),
        }

    # -- what it came from and led to

    def get_chain(self):
        lot = self.object
        ancestors = lot_ancestors(lot)
        first = ancestors[0] if ancestors else lot
        steps = []
        if first.mother:
            steps.append(
                {"label": "mother tree", "code": first.mother.code, "url": tree_url(first.mother), "note": first.mother.generation_code}
            )
        elif first.origin == LotOrigin.OUTSIDE:
            steps.append({"label": "outside origin", "code": first.outside_origin})
        steps += some_steps(
            [self.lot_step(part.component, amount_words(part.count, lot.unit), "component lot") for part in self.components]
        )
        steps += [self.lot_step(ancestor) for ancestor in ancestors]
        steps.append({"label": kind_words(lot), "code": lot.code, "note": str(lot.year or ""), "current": True})
        raised = self.scoped(Lot).filter(parent=lot)[: _STEPS_MAX + 1]
        bulks = LotComponent.objects.filter(component=lot).select_related("bulk")[: _STEPS_MAX + 1]
        steps += some_steps([self.lot_step(child, label="raised lot") for child in raised])
        steps += some_steps([self.lot_step(part.bulk, amount_words(part.count, lot.unit), "bulk lot") for part in bulks])
        return steps + some_steps([self.shipment_step(line) for line in self.get_shipment_lines()])

    def lot_step(self, lot, note="", label=""):
        return {"label": label or kind_words(lot), "code": lot.code, "url": lot_url(lot), "note": note or str(lot.year or "")}

    def shipment_step(self, line):
        shipment = line.shipment
        return {
            "label": "shipment",
            "code": shipment.code,
            "url": reverse_to("shipment_detail", shipment.pk),
            "note": shipment.get_state_display(),
        }

    def get_shipment_lines(self):
        if not hasattr(self, "shipment_lines"):
            lines = self.scoped(ShipmentLine).filter(lot=self.object).select_related("shipment__receiver")
            self.shipment_lines = list(lines.order_by("-shipment__dispatched_on", "shipment__code"))
        return self.shipment_lines

    # -- what can be done, what is known

    def get_actions(self):
        lot = self.object
        bulk = [("Add a component", "ledger.enter", reverse_to("lot_bulk", lot.pk))] if lot.origin == LotOrigin.BULK else []
        return allowed(
            self.request.user,
            *bulk,
            ("Enter in the ledger", "ledger.enter", reverse_to("ledger_add", lot.pk)),
            ("Change the lot", "lot.edit", reverse_to("lot_edit", lot.pk)),
        )

    def get_facts(self):
        lot = self.object
        facts = [
            ("Taxon", lot.taxon.name, reverse_to("taxon_detail", lot.taxon_id)),
            ("Origin", lot.get_origin_display(), None),
            ("Ripening or sowing year", lot.year, None),
        ]
        if lot.origin == LotOrigin.HARVEST:
            facts += self.get_cross_facts()
        if lot.origin == LotOrigin.OUTSIDE:
            facts.append(("Outside origin, as declared", lot.outside_origin, None))
        lineage = lot_lineages([lot])[lot.pk]
        return facts + [
            ("Family", lineage.family, None),
            ("Source of resistance", lineage.source, None),
            ("Recurrent line", lineage.line, None),
            ("Generation", lineage.generation, None),
            ("Kept at", lot.storage_place, None),
            ("Use by", f"{lot.use_by:%-d %b %Y}" if lot.use_by else "", None),
            ("Note", lot.note, None),
        ]

    def get_cross_facts(self):
        lot = self.object
        pool = lot.pollen_pool
        father = (
            (lot.father.code, tree_url(lot.father))
            if lot.father
            else (pool.code, reverse_to("pollenpool_detail", pool.pk))
            if pool
            else ("", None)
        )
        return [
            ("Mother tree", lot.mother.code, tree_url(lot.mother)),
            ("Father or pollen pool", *father),
            ("Cross", lot.get_cross_type_display(), None),
            ("Orchard when it flowered", lot.orchard_state, None),
        ]

    # -- tables

    def get_parts(self):
        parts = [ledger_part(self.object, self.ledger, self.request.user)]
        if self.object.origin == LotOrigin.BULK:
            parts.append(self.components_table())
        return [*parts, self.shipments_table()]

    def components_table(self):
        columns = (
            Column("Lot", lambda part: part.component.code, kind="code", url=lambda part: lot_url(part.component)),
            Column(f"Mixed in ({self.object.unit})", "count", "right", "number"),
            Column("On", "bulked_on", kind="date"),
            Column("Why", "reason"),
        )
        note = "The mother of a bulk is “bulk”. It is never guessed from the shares."
        return ledger_table("Components", columns, self.components, unit="lots", note=note, empty="No component entered yet.")

    def shipments_table(self):
        columns = (
            Column(
                "Shipment", lambda line: line.shipment.code, kind="code", url=lambda line: reverse_to("shipment_detail", line.shipment_id)
            ),
            Column(
                "To", lambda line: line.shipment.receiver.name, url=lambda line: reverse_to("partner_detail", line.shipment.receiver_id)
            ),
            Column("Left on", lambda line: line.shipment.dispatched_on, kind="date"),
            Column("Form", "get_form_display"),
            Column(f"Shipped ({self.object.unit})", "quantity", "right", "number"),
            Column("State", lambda line: line.shipment.get_state_display(), kind="state"),
        )
        return ledger_table("Shipments", columns, self.get_shipment_lines(), unit="lines", empty="It went into no shipment yet.")


def some_steps(steps):
    """At most three steps of one sort; the tables below have them all."""
    if len(steps) <= _STEPS_MAX:
        return steps
    return [*steps[:_STEPS_MAX], {"label": "and more", "code": "see below"}]


class LotFormView(SectionFormView):
    model = Lot
    action = "lot.edit"
    form_class = LotForm
    question = "What is it, and which one origin does it have?"
    submit_label = "Save the lot"


class LotBulkView(RecordActionView):
    model = Lot
    action = "ledger.enter"
    form_class = BulkForm
    question = "Which lot is mixed into this bulk, and how much of it?"
    submit_label = "Mix it in"
    success_message = "Mixed in. Both ledgers have it."

    def get_title(self):
        return f"Add a component to {self.object.code}"

    def get_cautions(self):
        return [
            {
                "title": "Mixing cannot be undone",
                "text": "Once mixed, the seeds or plants have no mother but “bulk”. Keep two labels in every container.",
            }
        ]

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"bulk": self.object}

    def perform(self, form):
        return lot_bulk(actor=self.request.user, bulk=self.object, **form.cleaned_data)
