"""Lots: the list, the page of a lot, its forms."""

from dataclasses import replace

from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words, day_words
from registry.choices import LotKind, LotOrigin
from registry.forms.lots.lots import BulkForm, LotForm, UnbulkForm
from registry.forms.shared.filters import LotFilters
from registry.imports.kinds import LotSheet
from registry.models import Lot, LotComponent, ShipmentLine
from registry.selectors.duties.duty_line import Duty
from registry.selectors.lots.bulks import bulk_left
from registry.selectors.lots.handbook import handbook_row
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
from registry.selectors.lots.seed_tests import lot_figures, lot_tests
from registry.selectors.pedigree.lineage import lot_lineages
from registry.services.lots.ledger import lot_bulk, lot_unbulk
from registry.services.pedigree.parents import lot_save
from registry.views.identity.parts import IDENTITY_ACTIONS, IDENTITY_FACT, IDENTITY_SECTIONS, IdentityOnPage
from registry.views.lots.chain import kind_words, lot_chain
from registry.views.lots.ledger import LotLedgerActionView
from registry.views.lots.sections import ADD_COMPONENT, CALENDAR_TOOL, ENTER_LEDGER, LOT_SECTIONS
from registry.views.lots.words import (
    germination_words,
    lot_use_by_words,
    origin_words,
    per_kg_words,
    pure_live_seed_words,
    stratification_words,
)
from registry.views.orchard.shares import SharesOnPage, measured_shares_section
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.prints.issued import LOT_PRINTS, PRINTS
from registry.views.shared.addresses import record_url, reverse_to
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link


class LotListView(RecordListView):
    model = Lot
    action = "lot.view"
    question = "Which seed and stock lots are there, from which mother, and how long will each keep?"
    sheet = LotSheet
    filter_form = LotFilters
    others = MATERIAL_LISTS
    add = ("New lot", "lot.edit", "lot_add")
    empty = ("No lots yet", "A lot starts with a harvest from one mother tree, or with seed or plants received from outside.", None)
    columns = (
        Column("Lot", "code", kind="code", url=Link("lot_detail")),
        Column("On hand (seeds or plants)", "balance", "right", "number"),
        Column("Use by", "use_by", kind="date"),
        Column("Kind", "kind"),
        Column(
            "Mother or origin", origin_words, kind=lambda lot: "code" if lot.mother else None, url=Link("pedigreetree_detail", "mother_id")
        ),
        Column("Year", "year", "right"),
        Column("Generation", "generation_code"),
        Column("Taxon", "taxon.name", kind="latin"),
    )

    def get_actions(self):
        harvest = [("Enter a harvest", reverse_to("harvest_add"))] if self.may("lot.edit") else []
        return [*harvest, *super().get_actions()]

    def row_mark(self, lot):
        if lot.balance and lot.use_by and lot.use_by < self.today:
            return "late"
        return "" if lot.balance else "soft"


NUMBERS = Action("Pedigree and shares", "lot_numbers", "lot.view")
HOW_IT_LIVES = Action(
    "How this lot lives", "survival_lineage", "survival.view", key=None, query=lambda page: {"level": "lot", "lineage": page.code}
)


class LotDetailView(SharesOnPage, IdentityOnPage, RecordDetailView):
    model = Lot
    action = "lot.view"
    question = "What is in this lot, where did it come from, and where did it go?"
    related = ("taxon", "mother", "father", "pollen_pool", "parent")
    contents = True
    where = property(lambda page: ", ".join(filter(None, (kind_words(page.object), page.object.storage_place))))
    facts = (
        Fact("Taxon", "taxon.name", Link("taxon_detail", "taxon_id")),
        Fact("Origin", "get_origin_display"),
        Fact("Ripening or sowing year", "year"),
        Fact("Mother tree", "mother.code", Link("pedigreetree_detail", "mother_id")),
        Fact("Father tree", "father.code", Link("pedigreetree_detail", "father_id")),
        Fact("Pollen pool", "pollen_pool.code", Link("pollenpool_detail", "pollen_pool_id")),
        Fact("Cross", lambda page: page.object.get_cross_type_display() if page.object.origin == LotOrigin.HARVEST else ""),
        Fact("Orchard when it flowered", "orchard_state"),
        Fact("Outside origin, as declared", "outside_origin"),
        Fact("Family", lambda page: page.lineage.family),
        Fact("Source of resistance", lambda page: page.lineage.source),
        Fact("Recurrent line", lambda page: page.lineage.line),
        Fact("Generation", lambda page: page.lineage.generation, always=True),
        Fact("Stored at", "storage_place", always=True),
        Fact("Use by", lambda page: lot_use_by_words(page.object, page.handbook, page.today)),
        Fact("Seeds per kg", lambda page: page.is_seed and per_kg_words(page.figures) or ""),
        Fact("Germination", lambda page: page.is_seed and germination_words(page.figures) or ""),
        Fact("Pure live seed", lambda page: page.is_seed and pure_live_seed_words(page.figures) or ""),
        Fact(
            "Stratification by the handbook",
            lambda page: stratification_words(page.handbook) if page.is_seed and page.handbook else "",
            lambda page: record_url(page.handbook),
        ),
        Fact(
            "Handbook",
            lambda page: f"no row for {page.object.taxon.name}" if page.is_seed and not page.handbook else "",
            lambda page: reverse_to("handbook_list"),
        ),
        IDENTITY_FACT,
        Fact("Note", "note"),
    )
    actions = (
        # what comes first is the main action: of a lot that is spent there is nothing to sow or pick
        replace(NUMBERS, when=lambda page: page.is_spent),
        Action("Open the lot again", "lot_reopen", "lot.close", when=lambda page: not page.is_open),
        ADD_COMPONENT,
        Action("Sow", "lot_sow", "ledger.enter", when=lambda page: page.is_seed and page.holds_some),
        Action("Enter plants raised", "lot_raise", "ledger.enter", when=lambda page: page.was_sown),
        Action("Add a picking", "lot_pick", "ledger.enter", when=lambda page: page.can_be_picked),
        Action("Cull", "lot_cull", "ledger.enter", when=lambda page: not page.is_seed and page.holds_some),
        Action("Split", "lot_split", "ledger.enter", when=lambda page: page.holds_some),
        ENTER_LEDGER,
        Action("Put it back", "lot_put_back", "ledger.enter", when=lambda page: page.holds_some and page.object.origin == LotOrigin.SPLIT),
        replace(NUMBERS, when=lambda page: not page.is_spent),
        HOW_IT_LIVES,
        Action("Seed calculator", "lot_tools", "lot.view", when=lambda page: page.is_seed),
        CALENDAR_TOOL,
        *LOT_PRINTS,
        *IDENTITY_ACTIONS,
        Action("Change the lot", "lot_edit", "lot.edit", when=lambda page: page.is_open),
        Action("Close the lot", "lot_close", "lot.close", when=lambda page: page.is_open and page.ledger),
    )  # fmt: skip
    sections = (*LOT_SECTIONS, PRINTS, *IDENTITY_SECTIONS, measured_shares_section("lot_share"))

    @property
    def state(self):
        lot = self.object
        return f"closed {day_words(lot.closed_on)}" if lot.closed_on else f"{amount_words(lot.balance, lot.unit)} on hand"

    def get_chain(self):
        return lot_chain(self.object, self.components, self.scoped(Lot).filter(parent=self.object), self.shipment_lines)

    def get_due(self):
        due = lot_duties(self.object, self.today, has_ledger=bool(self.ledger), has_components=bool(self.components))
        odd = [Duty("odd", words) for words in lot_oddities(self.tests, self.treatments, self.storage)]
        return [*self.identity_due(), *self.shares_due(), *due, *odd]

    # -- what kind of lot it is

    is_open = property(lambda page: not page.object.closed_on)
    is_seed = property(lambda page: page.object.kind == LotKind.SEED)
    is_bulk = property(lambda page: page.object.origin == LotOrigin.BULK)
    holds_some = property(lambda page: page.is_open and bool(page.object.balance))
    is_past_use_by = property(lambda page: bool(page.object.use_by and page.object.use_by < page.today))
    is_spent = property(lambda page: not page.is_open or page.is_past_use_by or bool(page.ledger and not page.object.balance))
    was_sown = property(lambda page: page.is_open and not page.is_seed and page.object.origin == LotOrigin.SOWN)
    can_be_picked = property(lambda page: page.is_open and page.is_seed and page.object.origin == LotOrigin.HARVEST)

    # -- what the page reads, each once

    lineage = cached_property(lambda page: lot_lineages([page.object])[page.object.pk])
    handbook = cached_property(lambda page: handbook_row(page.object.taxon.name))
    figures = cached_property(lambda page: lot_figures(page.object, page.tests, page.handbook))
    harvests = cached_property(lambda page: lot_harvests(page.object))
    tests = cached_property(lambda page: lot_tests(page.object, page.handbook))
    treatments = cached_property(lambda page: lot_treatments(page.object))
    calendar_steps = property(lambda page: lot_calendar(page.treatments, page.handbook) or ())
    storage = cached_property(lambda page: storage_rows(page.object, page.handbook))
    ledger = cached_property(lambda page: lot_ledger(page.object))
    account = cached_property(lambda page: account_lines(row.entry for row in page.ledger))

    @cached_property
    def components(self):
        return list(self.object.components.select_related("component").order_by("bulked_on", "component__code"))

    @cached_property
    def left_the_bulk(self):
        """What has left the bulk already, in words; from then on its components are fixed."""
        return bulk_left(self.object) if self.is_bulk else ""

    @cached_property
    def shipment_lines(self):
        lines = self.scoped(ShipmentLine).filter(lot=self.object).select_related("shipment__receiver")
        return list(lines.order_by("-shipment__dispatched_on", "shipment__code"))

    leftovers = cached_property(lambda page: lot_leftovers(page.object))


class LotFormView(RecordFormView):
    model = Lot
    action = "lot.edit"
    form_class = LotForm
    service = lot_save
    argument = "lot"
    question = "What is it, and which one origin does it have?"
    success_message = "Lot {result} saved."


class LotBulkView(LotLedgerActionView):
    form_class = BulkForm
    service = lot_bulk
    argument = "bulk"
    form_extras = property(lambda page: {"bulk": page.object})
    title = "Add a component to {object.code}"
    question = "Which lot is mixed into this bulk, and how much of it?"
    submit_label = "Mix it in"
    success_message = "Component mixed in. Both ledgers show it."
    cautions = (
        {
            "title": "Mixed seed cannot be sorted again",
            "text": "Once mixed, the mother of the seeds or plants is “bulk”. Put two labels in every container. "
            "When anything has left the bulk, nothing more can be mixed into it.",
        },
    )


class LotUnbulkView(RecordActionView):
    """A mixing that was entered by mistake is taken back, all of one component."""

    model = LotComponent
    action = "ledger.enter"
    form_class = UnbulkForm
    service = lot_unbulk
    argument = "part"
    confirm = True
    title = "Take {object.component} out of {object.bulk}"
    submit_label = "Take it out"
    success_message = "Component taken out. Every line of it is reversed in both ledgers; enter the right component now."
    back_to = property(lambda page: page.object.bulk)

    @property
    def text(self):
        part = self.object
        what = f"{amount_words(part.count, part.bulk.unit)} of {part.component}, mixed in up to {day_words(part.bulked_on)}."
        return (
            f"{what} Only for what was entered by mistake: seed that was really mixed cannot be sorted again. Every line stays on record."
        )
