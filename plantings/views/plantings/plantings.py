"""Plantings: the list, the page of a planting, its form."""

from django.utils import timezone
from django.utils.functional import cached_property

from plantings.choices import PlantingState
from plantings.forms.plantings import PlantingFilters, PlantingForm
from plantings.imports.general_sheets import OpenPlantingSheet
from plantings.imports.sites import PlantingSheet
from plantings.models import CensusRound, Planting, Site
from plantings.selectors.census.rounds import expected, missing_trees, rounds_with_progress
from plantings.selectors.gate.facts import planting_answer
from plantings.selectors.plantings.plantings import entry_lines, planting_shipments, plantings_listed
from plantings.services.plantings import planting_establish, planting_save
from plantings.views.census.visits import visit_day, visit_section
from plantings.views.plantings.positions import map_parts
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions, site_url
from registry.calc.shared.screen import amount_words, day_words
from registry.compliance.gate.words import ESTABLISH
from registry.models import Authorization
from registry.selectors.gate.determinations import determinations_of
from registry.selectors.identity.questions import question_duties
from registry.views.gate.gate import GatedActionView, fresh_part, other_answers, released_parts
from registry.views.shared.addresses import link, reverse_to
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link

_STEPS_MAX = 3
# A round is the one to enter from some weeks before it opens: crews go early in a dry year.
_EARLY_DAYS = 21
_PLOT_COLUMNS = (Column("Plots counted", "counted", "right", "number"), Column("Plots", "plots", "right", "number"))


def planting_url(planting):
    return reverse_to("planting_detail", planting.pk)


def round_url(census_round):
    return reverse_to("round_detail", census_round.pk)


class PlantingListView(RecordListView):
    model = Planting
    action = "planting.view"
    title = "Plantings"
    question = "What is planted where, and how much of it was alive at the last round?"
    unit = "plantings"
    filter_form = PlantingFilters
    question_path = "entries__lot__questions"
    others = PLANTING_LISTS
    add = ("New planting", "planting.edit", "planting_add")
    empty = ("No planting yet", "A planting is a set of trees at a site. Enter the site first, then the planting and its trees.", None)
    columns = (
        Column("Planting", "code", kind="code", url=planting_url),
        Column("Trees alive at the last round", "alive_count", "right", "number"),
        Column("From sown seed", "sown_alive_count", "right", "number"),
        Column("Planted (count)", "planted_count", "right", "number"),
        Column("State", "get_state_display", kind="state"),
        Column("Site", "site.name", url=lambda planting: site_url(planting.site)),
        Column("Partner", "site.partner.name"),
        Column("Planted on", "planted_on", kind="date"),
        Column("Last round", "last_round"),
    )

    @cached_property
    def sheet(self):
        return PlantingSheet if self.request.user.may("authorization.view") else OpenPlantingSheet

    def get_queryset(self):
        return plantings_listed(super().get_queryset())

    def row_mark(self, planting):
        return "soft" if planting.state == PlantingState.CLOSED else ""


def _census(page):
    return page.round_to_enter if page.entries else None


class PlantingDetailView(RecordDetailView):
    model = Planting
    action = "planting.view"
    template_name = "plantings/plantings/planting_detail.html"
    question = "What is planted here, where did it come from, and how far is its census?"
    related = ("site__partner",)
    state = "get_state_display"
    where = "site"
    facts = (
        Fact("Site", "site", lambda page: site_url(page.object.site)),
        Fact("Planted on", "planted_on", always=True),
        Fact("Where the plants came from", "get_supply_display"),
        Fact("Stock type", "stock_type"),
        Fact("Design", "design"),
        Fact("Spacing", lambda page: f"{page.object.spacing_m:g} m" if page.object.spacing_m else ""),
        Fact("Start corner", "start_corner"),
        Fact("Walk order", "get_walk_display"),
        Fact("Who plants", lambda page: ", ".join(page.object.done_by)),
        Fact("Note", "note"),
    )
    actions = (
        Action(label="Mark as planted", route="planting_establish", may="planting.edit", when=lambda page: page.is_planned),
        Action(
            label=lambda page: f"Record trees, {_census(page).label}", route="census_next", may="census.enter",
            when=_census, key=lambda page: _census(page).pk,
        ),
        Action(
            label=lambda page: f"Key the field form, {_census(page).label}", route="census_grid", may="census.enter",
            when=_census, key=lambda page: _census(page).pk,
        ),
        Action(
            label="Load its trees from a sheet", route="sheet_send", may="import.run", when=lambda page: not page.entries,
            key=lambda page: "tree",
        ),
        Action(label="Position map", route="planting_map", may="planting.view", when=lambda page: page.entries),
        Action(label="Change the planting", route="planting_edit", may="planting.edit"),
        Action(label="Print planting tags", route="planting_tags", may="print.make", when=lambda page: page.entries),
        Action(label="Add a tree", route="tree_add", may="tree.edit", key=None, query=lambda page: page.named),
    )  # fmt: skip
    sections = (
        Panel(draw_parts=lambda page: page.gate_parts(), may="determination.view"),
        Section(
            title="Census rounds",
            unit="rounds",
            rows=lambda page: page.rounds[::-1],
            columns=lambda page, rounds: (
                Column("Round", "label", url=Link("round_detail")),
                Column("Growing seasons", "growing_seasons", "right", "number"),
                Column("Opens", "opens_on", kind="date"),
                Column("Closes", "closes_on", kind="date"),
                Column("Records in", "recorded", "right", "number"),
                Column("Records expected", expected, "right", "number"),
                *(_PLOT_COLUMNS if any(item.plots for item in rounds) else ()),
                Column("Enter", lambda item: "key the field form", url=Link("census_grid"), may="census.enter"),
            ),
            missing="census rounds",
            add=Action(label="Add a round", route="round_add", may="round.edit", key=None, query=lambda page: page.named),
        ),
        Section(
            title="Entries",
            unit="entries",
            note="Only test and check trees are counted in survival.",
            rows=lambda page: page.entries,
            columns=(
                Column("Lot", "entry.lot.code", kind="code", url=Link("lot_detail", "entry.lot_id", "lot.view")),
                Column("Role", "entry.get_role_display"),
                Column("Generation", "entry.lot.generation_code"),
                Column("Planted (count)", "planted", "right", "number"),
                Column(
                    "Supply",
                    lambda line: "; ".join(f"{count:,} from {words}" for words, count in line.supplies),
                    may="shipment.view",
                    wide=True,
                ),
            ),
            missing="trees",
        ),
        Panel(draw_parts=lambda page: map_parts(page.object, sum(line.trees for line in page.entries))),
        Section(
            title="Counted plots",
            unit="plots",
            note="Trees counted here, not tagged.",
            rows=lambda page: page.object.counted_plots.select_related("entry__lot"),
            columns=(
                Column("Plot", "code", kind="code"),
                Column("Lot", "entry.lot.code", kind="code"),
                Column("Role", "entry.get_role_display"),
                Column("Planted (count)", "planted_count", "right", "number"),
            ),
            missing="counted plots",
            add=Action(label="Add a counted plot", route="countedplot_add", may="tree.edit", key=None, query=lambda page: page.named),
        ),
        Section(
            title="Crew",
            unit="people",
            rows=lambda page: page.object.crew.order_by("username"),
            columns=(
                Column("Person", str, url=Link("person_detail", may="person.view")),
                Column("Role", "role_label"),
            ),
            missing="a crew (a volunteer on the crew sees this planting)",
            add=Action(label="Change the crew", route="planting_edit", may="planting.edit"),
        ),
        Section(
            title="Papers",
            unit="papers",
            may="authorization.view",
            note="Which papers this planting needs is not decided here. Check with the local authority.",
            rows=lambda page: page.scoped(Authorization).filter(plantings=page.object),
            columns=(
                Column("Paper", "code", kind="code", url=Link("authorization_detail")),
                Column("Title", "title", wide=True),
                Column("Type", "get_type_display"),
                Column("Ends", "ends_on", kind="date"),
                Column("State", "get_state_display", kind="state"),
            ),
            missing="papers (check with the local authority whether one is needed)",
        ),
        other_answers("planting", lambda page: page.gate_records[1]),
        Panel(draw_parts=lambda page: [visit_section(page.user, page.object.site, page.visit_day)]),
    )

    @cached_property
    def entries(self):
        return entry_lines(self.object)

    @cached_property
    def rounds(self):
        return list(rounds_with_progress(self.scoped(CensusRound).filter(planting=self.object)).order_by("opens_on"))

    @cached_property
    def round_to_enter(self):
        return current_round(self.rounds)

    @property
    def is_planned(self):
        return self.object.state == PlantingState.PLANNED

    @property
    def named(self):
        """The planting by its code, as the first value of a form that is opened from here."""
        return {"planting": self.object.code}

    @property
    def visit_day(self):
        """The day whose season the cautions are for: that of the round to come, or today."""
        return next((visit_day(item) for item in self.rounds if item.closes_on >= self.today), self.today)

    def get_cautions(self):
        return site_cautions(self.object.site)

    def get_chain(self):
        lots = list(dict.fromkeys(line.entry.lot for line in self.entries))
        steps = [{"label": "lot", "code": lot.code, "url": link(self.user, "lot.view", "lot_detail", lot.pk)} for lot in lots[:_STEPS_MAX]]
        steps += _and_more("lots", len(lots) - _STEPS_MAX)
        shipments = list(planting_shipments(self.object, self.user)[: _STEPS_MAX + 1])
        steps += [
            {"label": "shipment", "code": item.code, "url": link(self.user, "shipment.view", "shipment_detail", item.pk)}
            for item in shipments[:_STEPS_MAX]
        ]
        steps += _and_more("shipments", len(shipments) - _STEPS_MAX, counted=False)
        steps.append({"label": "planting", "code": self.object.code, "note": _planted_words(self.object), "current": True})
        shown = self.rounds[-_STEPS_MAX:]
        steps += _and_more("rounds", len(self.rounds) - len(shown))
        return steps + [{"label": "round", "code": item.label, "url": round_url(item), "note": _seasons(item)} for item in shown]

    def get_due(self):
        lines = question_duties({line.entry.lot_id for line in self.entries}) if self.may("identity.view") else []
        for item in self.rounds:
            if item.missing and item.opens_on <= self.today:
                severity = "soon" if item.closes_on >= self.today else "odd"
                text = f"{item.label}: {item.recorded:,} of {amount_words(expected(item), 'trees')} recorded"
                lines.append({"severity": severity, "text": text, "url": round_url(item), "due": item.closes_on})
        return lines

    def gate_parts(self):
        """What the rules and papers say: today's answer for a planned planting, the stored one for a planting in the ground."""
        if self.is_planned:
            return [fresh_part(self.user, planting_answer(self.object, self.today))]
        return released_parts(self.user, self.gate_records[0], "It was recorded after it was planted, so the gate gave no answer.")

    @cached_property
    def gate_records(self):
        return determinations_of(self.object.code, ESTABLISH)


def _and_more(what, number, counted=True):
    if number <= 0:
        return []
    return [{"label": what, "code": f"and {number} more" if counted else "and more", "note": "see below"}]


def _planted_words(planting):
    return f"{day_words(planting.planted_on)}" if planting.planted_on else planting.get_state_display()


def _seasons(census_round):
    number = census_round.growing_seasons
    return amount_words(number, "growing seasons")


def current_round(rounds):
    """The round to enter now, of rounds in time order: the last one that opened, or opens within three weeks.

    None once that round has closed and every tree in it has a record.
    """
    today = timezone.localdate()
    opened = [item for item in rounds if (item.opens_on - today).days <= _EARLY_DAYS]
    last = opened[-1] if opened else None
    return last if last and (last.closes_on >= today or missing_trees(last).exists()) else None


class PlantingFormView(RecordFormView):
    model = Planting
    action = "planting.edit"
    form_class = PlantingForm
    question = "What is planted at which site, how is it laid out, who goes there?"
    submit_label = "Save the planting"
    success_message = "Planting {result.code} saved."

    def get_initial(self):
        return super().get_initial() | known(self, Site, "site")

    def save(self, record, many, form):
        return planting_save(actor=self.request.user, planting=record, many=many)


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

    def get_title(self):
        return f"Mark {self.object.code} as planted"

    def ask(self, day):
        return planting_answer(self.object, day)

    def get_cautions(self):
        return site_cautions(self.object.site)

    def act(self, form, override_reason):
        on = form.cleaned_data["on"]
        return planting_establish(actor=self.request.user, planting=self.object, on=on, override_reason=override_reason)

    def get_success_message(self):
        return f"{self.object.code} is established."

    def get_context_data(self, **kwargs):
        return super().get_context_data(**kwargs) | {"text": f"At {self.object.site}."}
