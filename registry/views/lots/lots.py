"""Lots: the list, the page of a lot, its forms."""

from django.utils import timezone

from registry.calc.lots.stratification import use_by_words
from registry.calc.shared.screen import amount_words, day_words
from registry.choices import LotKind, LotOrigin
from registry.forms.lots.lots import BulkForm, LotForm, UnbulkForm
from registry.forms.shared.filters import LotFilters
from registry.imports.kinds import LotSheet
from registry.models import Lot, LotComponent, ShipmentLine
from registry.selectors.duties.duty_line import Duty
from registry.selectors.lots.bulks import bulk_left
from registry.selectors.lots.handbook import handbook_row, is_assumed_use_by
from registry.selectors.lots.lot_steps import (
    account_lines,
    lot_calendar,
    lot_harvests,
    lot_leftovers,
    lot_oddities,
    lot_treatments,
    storage_rows,
)
from registry.selectors.lots.lots import lot_duties, lot_ledger
from registry.selectors.lots.seed_tests import lot_tests
from registry.selectors.pedigree.lineage import lot_lineages
from registry.services.lots.ledger import lot_bulk, lot_unbulk
from registry.services.pedigree.parents import lot_save
from registry.views.identity.parts import identity_parts
from registry.views.lots.chain import kind_words, lot_chain
from registry.views.lots.ledger import ledger_part, quantity_at
from registry.views.lots.parts import (
    account_part,
    components_part,
    harvest_part,
    leftovers_part,
    seed_facts,
    shipments_part,
    storage_part,
    stratification_part,
    tests_part,
    treatments_part,
)
from registry.views.orchard.shares import lot_share_parts
from registry.views.pedigree.taxa import MATERIAL_LISTS, lot_url
from registry.views.pedigree.trees import tree_url
from registry.views.prints.issued import LOT_PRINTS, PRINTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed
from registry.views.shared.sections import draw_sections, drawn
from registry.views.shared.tables import Column


def origin_words(lot):
    if lot.mother:
        return lot.mother.code
    if lot.parent:
        return f"{'part of' if lot.origin == LotOrigin.SPLIT else 'raised from'} {lot.parent.code}"
    return "bulk" if lot.origin == LotOrigin.BULK else lot.outside_origin


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
        Column("On hand (seeds or plants)", "balance", "right", "number"),
        Column("Use by", "use_by", kind="date"),
        Column("Kind", "kind"),
        Column(
            "Mother or origin",
            origin_words,
            kind=lambda lot: "code" if lot.mother else None,
            url=lambda lot: lot.mother and tree_url(lot.mother),
        ),
        Column("Year", "year", "right"),
        Column("Generation", "generation_code"),
        Column("Taxon", "taxon.name", kind="latin"),
    )

    def get_queryset(self):
        self.today = timezone.localdate()
        return super().get_queryset()

    def get_actions(self):
        harvest = [("Enter a harvest", reverse_to("harvest_add"))] if self.request.user.may("lot.edit") else []
        return [*harvest, *super().get_actions()]

    def row_mark(self, lot):
        if lot.balance and lot.use_by and lot.use_by < self.today:
            return "late"
        return "" if lot.balance else "soft"


class LotDetailView(RecordDetailView):
    model = Lot
    action = "lot.view"
    template_name = "registry/lots/lot_detail.html"
    question = "What is in this lot, where did it come from, and where did it go?"

    def get_queryset(self):
        return super().get_queryset().select_related("taxon", "mother", "father", "pollen_pool", "parent")

    def get_page(self):
        lot = self.object
        self.today = timezone.localdate()
        self.components = list(lot.components.select_related("component").order_by("bulked_on", "component__code"))
        self.left = bulk_left(lot) if lot.origin == LotOrigin.BULK else ""
        self.ledger = lot_ledger(lot)
        self.handbook = handbook_row(lot.taxon.name)
        self.tests = lot_tests(lot, self.handbook)
        self.treatments = lot_treatments(lot)
        self.storage = storage_rows(lot, self.handbook)
        self.leftovers = lot_leftovers(lot)
        self.identity = identity_parts(self.request.user, lot)
        self.shares = lot_share_parts(self.request.user, lot)
        parts = [*self.get_parts(), *self.get_identity_parts()]
        return {
            "code": lot.code,
            "state": f"closed {day_words(lot.closed_on)}" if lot.closed_on else f"{amount_words(lot.balance, lot.unit)} on hand",
            "where": ", ".join(part for part in (kind_words(lot), lot.storage_place) if part),
            "chain": lot_chain(lot, self.components, self.scoped(Lot).filter(parent=lot), self.get_shipment_lines()),
            "due": self.get_duties(),
            "actions": self.get_actions(),
            "facts": self.get_facts(),
            "parts": parts,
            "contents": [(part["title"], part["id"], part["count"]) for part in parts],
        }

    def get_duties(self):
        lot = self.object
        duties = lot_duties(lot, self.today, has_ledger=bool(self.ledger), has_components=bool(self.components))
        odd = [Duty("odd", words) for words in lot_oddities(self.tests, self.treatments, self.storage)]
        return [*self.identity["due"], *self.shares["due"], *duties, *odd]

    def get_shipment_lines(self):
        if not hasattr(self, "shipment_lines"):
            lines = self.scoped(ShipmentLine).filter(lot=self.object).select_related("shipment__receiver")
            self.shipment_lines = list(lines.order_by("-shipment__dispatched_on", "shipment__code"))
        return self.shipment_lines

    # -- what can be done, what is known

    def get_actions(self):
        lot = self.object
        if lot.closed_on:
            return allowed(self.request.user, ("Open the lot again", "lot.close", reverse_to("lot_reopen", lot.pk)))
        steps = [(label, action, reverse_to(route, lot.pk)) for label, action, route in self.get_steps()]
        return allowed(
            self.request.user,
            *steps,
            ("Enter in the ledger", "ledger.enter", reverse_to("ledger_add", lot.pk)),
            ("Change the lot", "lot.edit", reverse_to("lot_edit", lot.pk)),
            *([("Close the lot", "lot.close", reverse_to("lot_close", lot.pk))] if self.ledger else []),
        ) + drawn(self, LOT_PRINTS)

    def get_steps(self):
        """What is usually done next with a lot of this kind, as (label, action, route)."""
        lot = self.object
        seed, holds = lot.kind == LotKind.SEED, bool(lot.balance)
        steps = (
            (lot.origin == LotOrigin.BULK and not self.left, "Add a component", "lot_bulk"),
            (seed and holds, "Sow", "lot_sow"),
            (seed and lot.origin == LotOrigin.HARVEST, "Another picking", "lot_pick"),
            (not seed and lot.origin == LotOrigin.SOWN, "Plants raised", "lot_raise"),
            (not seed and holds, "Cull", "lot_cull"),
            (holds, "Split", "lot_split"),
            (holds and lot.origin == LotOrigin.SPLIT, "Put back", "lot_put_back"),
        )
        tools = [("Pedigree and shares", "lot.view", "lot_numbers")]
        tools += [("Seeds, weight, trees", "lot.view", "lot_tools")] if seed else []
        return [(label, "ledger.enter", route) for fits, label, route in steps if fits] + tools

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
            ("Use by", self.use_by_words(), None),
            *(seed_facts(lot, self.tests, self.handbook) if lot.kind == LotKind.SEED else ()),
            *self.identity["facts"],
            ("Note", lot.note, None),
        ]

    def use_by_words(self):
        lot = self.object
        if not lot.use_by:
            return ""
        words = f"{day_words(lot.use_by)}{f', {use_by_words(lot.use_by, self.today)}' if lot.balance else ''}"
        if lot.kind == LotKind.SEED and is_assumed_use_by(lot.use_by, self.handbook):
            words += ". The storage class is not known: the shorter life is assumed (common practice, no source)"
        return words

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
        lot, user = self.object, self.request.user
        harvests = lot_harvests(lot)
        parts = [harvest_part(harvests, self.handbook.fruit if self.handbook else "")] if harvests else []
        if lot.kind == LotKind.SEED:
            parts.append(tests_part(lot, self.tests, user))
        if lot.kind == LotKind.SEED or self.treatments:
            parts.append(treatments_part(lot, self.treatments, user))
        steps = lot_calendar(self.treatments, self.handbook)
        if steps:
            parts.append(stratification_part(steps, self.handbook))
        parts += [
            storage_part(lot, self.storage, user),
            account_part(lot, account_lines(row.entry for row in self.ledger)),
            ledger_part(lot, self.ledger, user) | {"id": "ledger"},
        ]
        if lot.origin == LotOrigin.BULK:
            parts.append(components_part(lot, self.components, user, self.left))
        parts.append(shipments_part(lot, self.get_shipment_lines()))
        if self.leftovers:
            parts.append(leftovers_part(lot, self.leftovers))
        return parts + draw_sections(self, [PRINTS])[0]

    def get_identity_parts(self):
        first = {"title": "Identity", "actions": self.identity["actions"], "empty": "", "count": None}
        if not self.identity["parts"]:
            first["empty"] = "No question and no evidence about this lot."
        named = [part | {"id": f"identity-{number}"} for number, part in enumerate(self.identity["parts"], start=1)]
        shares = [part | {"id": "measured-shares"} for part in self.shares["parts"]]
        first["actions"] = [*first["actions"], *self.shares["actions"]]
        return [first | {"id": "identity"}, *named, *shares] if first["actions"] or named or shares else []


class LotFormView(SectionFormView):
    model = Lot
    action = "lot.edit"
    form_class = LotForm
    question = "What is it, and which one origin does it have?"
    submit_label = "Save the lot"

    def save(self, record, many, form):
        return lot_save(actor=self.request.user, lot=record, many=many, reason=form.cleaned_data.get("reason", ""))


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
                "title": "Mixed seed cannot be sorted again",
                "text": "Once mixed, the seeds or plants have no mother but “bulk”. Keep two labels in every container. "
                "When anything has left the bulk, nothing more is mixed into it.",
            }
        ]

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"bulk": self.object}

    def perform(self, form):
        with quantity_at("count"):
            return lot_bulk(actor=self.request.user, bulk=self.object, **form.cleaned_data)


class LotUnbulkView(RecordActionView):
    """A mixing that was entered by mistake is taken back, all of one component."""

    model = LotComponent
    action = "ledger.enter"
    form_class = UnbulkForm
    template_name = "generic/confirm.html"
    submit_label = "Take it out"
    success_message = "Taken out. Both ledgers have the opposite of every line; enter the right component now."

    def get_title(self):
        return f"Take {self.object.component} out of {self.object.bulk}"

    def get_cancel_url(self):
        return lot_url(self.object.bulk)

    def perform(self, form):
        return lot_unbulk(actor=self.request.user, part=self.object, **form.cleaned_data)

    def get_context_data(self, **kwargs):
        part = self.object
        what = f"{amount_words(part.count, part.bulk.unit)} of {part.component}, mixed in up to {day_words(part.bulked_on)}."
        text = f"{what} Only for what was entered by mistake: seed that was really mixed cannot be sorted again. Every line stays."
        return super().get_context_data(**kwargs) | {"text": text}
