"""Plantings: the list, the page of a planting, its form."""

from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from plantings.choices import PlantingState
from plantings.forms.plantings import PlantingFilters, PlantingForm
from plantings.imports.general_sheets import OpenPlantingSheet
from plantings.imports.sites.sites import PlantingSheet
from plantings.models import CensusRound, Planting, Site
from plantings.selectors.census.progress_words import recorded_words
from plantings.selectors.census.rounds import current_round, rounds_with_progress
from plantings.selectors.gate.facts import planting_answer
from plantings.selectors.plantings.plantings import entry_lines, last_round_words, planting_shipments, plantings_listed
from plantings.selectors.plantings.unknown_plots import NUMBER_NOT_KNOWN
from plantings.selectors.sites.local_texts import corner_text, text_not_in
from plantings.services.plantings import planting_establish, planting_save
from plantings.views.census.visits import visit_day
from plantings.views.plantings.planted import planted_column
from plantings.views.plantings.sections import PLANTING_SECTIONS
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.compliance.gate.words import ESTABLISH
from registry.selectors.duties.duty_line import Duty
from registry.selectors.gate.determinations import determinations_of
from registry.selectors.identity.questions import question_duties
from registry.selectors.permits.authorizations import chosen_paper_duties
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_day, local_number
from registry.views.gate.gate import GatedActionView, fresh_part, released_parts
from registry.views.shared.addresses import link, record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column

_STEPS_MAX = 3
# A round is the one to enter from some weeks before it opens: crews go early in a dry year.


class PlantingListView(RecordListView):
    model = Planting
    action = "planting.view"
    title = _("Plantings")
    question = _("What is planted where, and how much of it was alive at the last complete round?")
    filter_form = PlantingFilters
    question_path = "entries__lot__questions"
    others = PLANTING_LISTS
    add = ("New planting", "planting.edit", "planting_add")
    empty = (
        _("No planting yet"),
        _("A planting is a set of trees at a site. Enter the site first, then the planting and its trees."),
        None,
    )
    read = staticmethod(plantings_listed)
    row_mark = staticmethod(lambda planting: "soft" if planting.state == PlantingState.CLOSED else "")
    columns = (
        Column(_("Planting"), "code", kind="code", url=record_url),
        Column(_("Trees alive at the last complete round"), "alive_count", "right", "number"),
        Column(_("From sown seed"), "sown_alive_count", "right", "number"),
        planted_column("planted_count"),
        Column(_("State"), "get_state_display", kind="state"),
        Column(_("Site"), "site.name", url=lambda planting: record_url(planting.site)),
        Column(_("Partner"), "site.partner.name"),
        Column(_("Planted on"), "planted_on", kind="date"),
        Column(_("Last round"), last_round_words),
    )

    sheet = cached_property(lambda page: PlantingSheet if page.may("authorization.view") else OpenPlantingSheet)


def _census(page):
    return page.round_to_enter if page.entries else None


def _not_in_french(planting):
    return "start corner" if text_not_in(planting, "start_corner", "fr") else ""


class PlantingDetailView(RecordDetailView):
    model = Planting
    action = "planting.view"
    template_name = "plantings/plantings/planting_detail.html"
    question = _("What is planted here, where did it come from, and how far is its census?")
    related = ("site__partner",)
    state = "get_state_display"
    where = "site"
    cautions = property(lambda page: site_cautions(page.object.site))
    facts = (
        Fact(_("Site"), "site", lambda page: record_url(page.object.site)),
        Fact(_("Planted on"), "planted_on", always=True),
        Fact(_("Where the plants came from"), "get_supply_display"),
        Fact(_("Stock type"), "stock_type"),
        Fact(_("How many were planted"), lambda page: NUMBER_NOT_KNOWN if page.object.trees_left_out else ""),
        Fact(_("Design"), "design"),
        Fact(_("Spacing"), lambda page: local_number(f"{page.object.spacing_m:g} m") if page.object.spacing_m else ""),
        Fact(_("Start corner"), lambda page: corner_text(page.object)),
        Fact("Start corner in French", "start_corner_fr", may="planting.edit"),
        Fact("Not on file in French", lambda page: _not_in_french(page.object), may="planting.edit"),
        Fact(_("Walk order"), "get_walk_display"),
        Fact(_("Who plants"), lambda page: ", ".join(page.object.done_by)),
        Fact(_("Note"), "note", may="tree.lot"),  # it names lots, and a crew must not know of which lot a tree is
    )
    actions = (
        Action("Mark as planted", "planting_establish", "planting.edit", when=lambda page: page.is_planned),
        Action(
            lambda page: _("Record trees, %(round)s") % {"round": _census(page).label}, "census_next", "census.enter",
            when=_census, key=lambda page: _census(page).pk,
        ),
        Action(
            lambda page: _("Key the field form, %(round)s") % {"round": _census(page).label}, "census_grid", "census.enter",
            when=_census, key=lambda page: _census(page).pk,
        ),
        Action("Load its trees from a sheet", "sheet_send", "import.run", when=lambda page: not page.entries, key=lambda page: "tree"),
        Action(_("Position map"), "planting_map", "planting.view", when=lambda page: page.entries),
        Action(_("Map of every round"), "planting_film", "planting.view", when=lambda page: page.entries and page.rounds),
        Action("Change the planting", "planting_edit", "planting.edit"),
        Action("Print planting tags", "planting_tags", "print.make", when=lambda page: page.entries),
        Action("Add a tree", "tree_add", "tree.edit", key=None, query=lambda page: page.named),
    )  # fmt: skip
    sections = PLANTING_SECTIONS

    entries = cached_property(lambda page: entry_lines(page.object))
    round_to_enter = cached_property(lambda page: current_round(page.rounds))
    is_planned = property(lambda page: page.object.state == PlantingState.PLANNED)
    gate_records = cached_property(lambda page: determinations_of(page.object.code, ESTABLISH))

    @cached_property
    def rounds(self):
        return list(rounds_with_progress(self.scoped(CensusRound).filter(planting=self.object)).order_by("opens_on"))

    @property
    def named(self):
        """The planting by its code, as the first value of a form that is opened from here."""
        return {"planting": self.object.code}

    @property
    def visit_day(self):
        """The day whose season the cautions are for: that of the round to come, or today."""
        return next((visit_day(item) for item in self.rounds if item.closes_on >= self.today), self.today)

    def get_chain(self):
        lots = list(dict.fromkeys(line.entry.lot for line in self.entries)) if self.may("tree.lot") else []
        steps = [chain_step(_("lot"), lot.code, link(self.user, "lot.view", "lot_detail", lot.pk)) for lot in lots[:_STEPS_MAX]]
        steps += _and_more(_("lots"), len(lots) - _STEPS_MAX)
        shipments = list(planting_shipments(self.object, self.user)[: _STEPS_MAX + 1])
        steps += [
            chain_step(_("shipment"), item.code, link(self.user, "shipment.view", "shipment_detail", item.pk))
            for item in shipments[:_STEPS_MAX]
        ]
        steps += _and_more(_("shipments"), len(shipments) - _STEPS_MAX, counted=False)
        steps.append(chain_step(_("planting"), self.object.code, note=_planted_words(self.object), current=True))
        shown = self.rounds[-_STEPS_MAX:]
        steps += _and_more(_("rounds"), len(self.rounds) - len(shown))
        return steps + [chain_step(_("round"), item.label, record_url(item), _seasons(item)) for item in shown]

    def get_due(self):
        lines = question_duties({line.entry.lot_id for line in self.entries}) if self.may("identity.view") else []
        for item in self.rounds:
            if item.missing and item.opens_on <= self.today:
                severity = "soon" if item.closes_on >= self.today else "odd"
                text = f"{item.label}{_(':')} {recorded_words(item)}"
                lines.append(Duty(severity, text, item.closes_on, record_url(item)))
        if self.is_planned and self.may("authorization.view"):
            lines += chosen_paper_duties(self.object, self.today)
        return lines

    def gate_parts(self):
        """What the rules and papers say: today's answer for a planned planting, the stored one for a planting in the ground."""
        if self.is_planned:
            return [fresh_part(self.user, planting_answer(self.object, self.today))]
        return released_parts(self.user, self.gate_records[0], "It was recorded after it was planted, so the gate gave no answer.")


def _and_more(what, number, counted=True):
    if number <= 0:
        return []
    return [chain_step(what, _("and %(number)s more") % {"number": number} if counted else _("and more"), note=_("see below"))]


def _planted_words(planting):
    return local_day(planting.planted_on) if planting.planted_on else planting.get_state_display()


def _seasons(census_round):
    number = census_round.growing_seasons
    return local_amount(number, "growing seasons")


class PlantingFormView(RecordFormView):
    model = Planting
    action = "planting.edit"
    form_class = PlantingForm
    service = planting_save
    argument = "planting"
    question = "What is planted at which site, how is it laid out, who goes there?"
    success_message = "Planting {result.code} saved."
    initial = property(lambda page: known(page, Site, "site"))


def known(view, model, name):
    """The record a link names by its code, as the first value of a form's box."""
    record = view.scoped(model).filter(code=view.request.GET.get(name, "")).first()
    return {name: record.pk} if record else {}


class PlantingEstablishView(GatedActionView):
    model = Planting
    action = "planting.edit"
    day_label = "Planted on"
    question = "Is it planted? The gate checks its papers and stores the answer."
    submit_label = "Mark as planted"
    service = planting_establish
    title = "Mark {object.code} as planted"
    text = "At {object.site}."
    cautions = property(lambda page: site_cautions(page.object.site))
    success_message = "{object.code} is established."

    def ask(self, day):
        return planting_answer(self.object, day)
