"""Plantings: the list, the page of a planting, its form."""

from urllib.parse import urlencode

from django.utils import timezone
from django.utils.functional import cached_property

from plantings.choices import PlantingState
from plantings.forms.plantings import PlantingFilters, PlantingForm
from plantings.imports.general_sheets import OpenPlantingSheet
from plantings.imports.sites import PlantingSheet
from plantings.models import CensusRound, Planting, Site
from plantings.selectors.census.rounds import expected, rounds_with_progress
from plantings.selectors.gate.facts import planting_answer
from plantings.selectors.plantings.plantings import entry_lines, planting_shipments, plantings_listed
from plantings.services.plantings import planting_establish, planting_save
from plantings.views.census.visits import visit_day, visit_section
from plantings.views.plantings.positions import map_parts
from plantings.views.sites.sites import PLANTING_LISTS, alive_words, site_cautions, site_url
from registry.calc.shared.screen import amount_words, day_words
from registry.compliance.gate.words import ESTABLISH
from registry.models import Authorization
from registry.selectors.identity.questions import question_duties
from registry.views.gate.gate import GatedActionView, fresh_part, kept_parts
from registry.views.shared.generic import RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table

_STEPS_MAX = 3
# A round is the one to enter from some weeks before it opens: crews go early in a dry year.
_EARLY_DAYS = 21


def planting_url(planting):
    return reverse_to("planting_detail", planting.pk)


def round_url(census_round):
    return reverse_to("round_detail", census_round.pk)


class PlantingListView(SectionListView):
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
        Column("Site", "site.name", url=lambda planting: site_url(planting.site)),
        Column("Partner", "site.partner.name"),
        Column("Planted on", "planted_on", kind="date"),
        Column("State", "get_state_display", kind="state"),
        Column("Planted (count)", "planted_count", "right", "number"),
        Column("Trees alive at the last round", alive_words, "right", "number"),
        Column("Last round", "last_round"),
    )

    @cached_property
    def sheet(self):
        return PlantingSheet if self.request.user.may("authorization.view") else OpenPlantingSheet

    def get_queryset(self):
        return plantings_listed(super().get_queryset())

    def row_mark(self, planting):
        return "soft" if planting.state == PlantingState.CLOSED else ""


class PlantingDetailView(RecordDetailView):
    model = Planting
    action = "planting.view"
    template_name = "plantings/plantings/planting_detail.html"
    question = "What stands here, where did it come from, and how far is its census?"

    def get_queryset(self):
        return super().get_queryset().select_related("site__partner")

    def get_page(self):
        planting = self.object
        self.entries = entry_lines(planting)
        self.rounds = list(rounds_with_progress(self.scoped(CensusRound).filter(planting=planting)).order_by("opens_on"))
        return {
            "code": planting.code,
            "state": planting.get_state_display(),
            "where": str(planting.site),
            "chain": self.get_chain(),
            "due": self.get_due(),
            "cautions": site_cautions(planting.site),
            "actions": self.get_actions(),
            "facts": self.get_facts(),
            "parts": [
                *self.gate_parts(),
                self.rounds_table(),
                self.entries_table(),
                *map_parts(planting, sum(line.trees for line in self.entries)),
                *self.plots_table(),
                *self.crew_table(),
                *self.papers_table(),
                visit_section(self.request.user, planting.site, self.get_visit_day()),
            ],
        }

    def get_visit_day(self):
        """The day whose season the cautions are for: that of the round to come, or today."""
        today = timezone.localdate()
        return next((visit_day(item) for item in self.rounds if item.closes_on >= today), today)

    # -- what it came from and led to

    def get_chain(self):
        planting, user = self.object, self.request.user
        lots = list(dict.fromkeys(line.entry.lot for line in self.entries))
        steps = [{"label": "lot", "code": lot.code, "url": link(user, "lot.view", "lot_detail", lot.pk)} for lot in lots[:_STEPS_MAX]]
        steps += _and_more("lots", len(lots) - _STEPS_MAX)
        shipments = list(planting_shipments(planting, user)[: _STEPS_MAX + 1])
        steps += [
            {"label": "shipment", "code": item.code, "url": link(user, "shipment.view", "shipment_detail", item.pk)}
            for item in shipments[:_STEPS_MAX]
        ]
        steps += _and_more("shipments", len(shipments) - _STEPS_MAX, counted=False)
        steps.append({"label": "planting", "code": planting.code, "note": _planted_words(planting), "current": True})
        shown = self.rounds[-_STEPS_MAX:]
        steps += _and_more("rounds", len(self.rounds) - len(shown))
        steps += [{"label": "round", "code": item.label, "url": round_url(item), "note": _seasons(item)} for item in shown]
        return steps

    def get_due(self):
        today, lines = timezone.localdate(), self.get_questions()
        for item in self.rounds:
            if item.missing and item.opens_on <= today:
                severity = "soon" if item.closes_on >= today else "odd"
                text = f"{item.label}: {item.missing:,} of {expected(item):,} trees without a record"
                lines.append({"severity": severity, "text": text, "url": round_url(item), "due": item.closes_on})
        return lines

    def get_questions(self):
        """Questions of identity that reach a lot planted here."""
        may = self.request.user.may("identity.view")
        return question_duties({line.entry.lot_id for line in self.entries}) if may else []

    # -- what can be done, what is known

    def get_actions(self):
        planting, current = self.object, current_round(self.rounds)
        add = f"?{urlencode({'planting': planting.code})}"
        census = [
            (f"Record trees, {current.label}", "census.enter", reverse_to("census_next", current.pk)),
            (f"Key the sheet, {current.label}", "census.enter", reverse_to("census_grid", current.pk)),
        ] if current and self.entries else []  # fmt: skip
        planned = planting.state == PlantingState.PLANNED
        establish = [("Establish the planting", "planting.edit", reverse_to("planting_establish", planting.pk))] if planned else []
        load = [] if self.entries else [("Load its trees from a sheet", "import.run", reverse_to("sheet_send", "tree"))]
        return allowed(
            self.request.user,
            *census,
            *load,
            ("Position map", "planting.view", reverse_to("planting_map", planting.pk)),
            *([("Planting tags", "paper.issue", reverse_to("planting_tags", planting.pk))] if self.entries else []),
            ("Add a round", "round.edit", reverse_to("round_add") + add),
            ("Add a tree", "tree.edit", reverse_to("tree_add") + add),
            ("Add a counted plot", "tree.edit", reverse_to("countedplot_add") + add),
            ("Change the planting", "planting.edit", reverse_to("planting_edit", planting.pk)),
            *establish,
        )

    def gate_parts(self):
        """What the rules and papers say: asked afresh for a planned planting, as it was kept for one that stands."""
        planting, user = self.object, self.request.user
        if not user.may("determination.view"):
            return []
        if planting.state == PlantingState.PLANNED:
            return [fresh_part(user, planting_answer(planting, timezone.localdate()))]
        return kept_parts(user, planting.code, ESTABLISH, "It was written down after it stood, so the gate was not asked.")

    def get_facts(self):
        planting = self.object
        return [
            ("Site", str(planting.site), site_url(planting.site)),
            ("Planted on", f"{day_words(planting.planted_on)}" if planting.planted_on else "", None),
            ("Where the plants came from", planting.get_supply_display(), None),
            ("Stock type", planting.stock_type, None),
            ("Design", planting.design, None),
            ("Spacing", f"{planting.spacing_m:g} m" if planting.spacing_m else "", None),
            ("Start corner", planting.start_corner, None),
            ("Walk order", planting.get_walk_display(), None),
            ("Note", planting.note, None),
        ]

    # -- tables

    def rounds_table(self):
        user = self.request.user
        columns = [
            Column("Round", "label", url=round_url),
            Column("Growing seasons", "growing_seasons", "right", "number"),
            Column("Opens", "opens_on", kind="date"),
            Column("Closes", "closes_on", kind="date"),
            Column("Records in", "recorded", "right", "number"),
            Column("Records expected", expected, "right", "number"),
        ]
        if any(item.plots for item in self.rounds):
            columns += [Column("Plots counted", "counted", "right", "number"), Column("Plots", "plots", "right", "number")]
        if user.may("census.enter"):
            columns.append(Column("Enter", lambda item: "key the sheet", url=lambda item: reverse_to("census_grid", item.pk)))
        empty = "No round yet. Add one for each growing season."
        return ledger_table("Census rounds", columns, self.rounds[::-1], unit="rounds", empty=empty)

    def entries_table(self):
        user = self.request.user
        columns = [
            Column("Lot", "entry.lot.code", kind="code", url=lambda line: link(user, "lot.view", "lot_detail", line.entry.lot_id)),
            Column("Role", lambda line: line.entry.get_role_display()),
            Column("Generation", lambda line: line.entry.lot.generation_code),
            Column("Planted (count)", "planted", "right", "number"),
        ]
        if user.may("shipment.view"):
            columns.append(Column("Supply", lambda line: "; ".join(f"{count:,} from {words}" for words, count in line.supplies)))
        note = "Only test and check trees are counted in survival."
        empty = "Nothing is planted yet. Load the trees from a sheet, or add them one by one."
        return ledger_table("Entries", columns, self.entries, unit="entries", note=note, empty=empty)

    def plots_table(self):
        plots = list(self.object.counted_plots.select_related("entry__lot"))
        columns = (
            Column("Plot", "code", kind="code"),
            Column("Lot", lambda plot: plot.entry.lot.code, kind="code"),
            Column("Role", lambda plot: plot.entry.get_role_display()),
            Column("Planted (count)", "planted_count", "right", "number"),
        )
        return [ledger_table("Counted plots", columns, plots, unit="plots", note="Trees counted here, not tagged.")] if plots else []

    def crew_table(self):
        crew = list(self.object.crew.order_by("username"))
        user = self.request.user
        columns = (
            Column("Person", str, url=lambda person: link(user, "person.view", "person_detail", person.pk)),
            Column("Role", "role_label"),
        )
        empty = "Nobody is on the crew yet. A volunteer on it sees this planting."
        return [ledger_table("Crew", columns, crew, unit="people", empty=empty)]

    def papers_table(self):
        user = self.request.user
        if not user.may("authorization.view"):
            return []
        papers = Authorization.objects.for_user(user).filter(plantings=self.object)
        columns = (
            Column("Paper", "code", kind="code", url=lambda paper: link(user, "authorization.view", "authorization_detail", paper.pk)),
            Column("Title", "title"),
            Column("Type", "get_type_display"),
            Column("Ends", "ends_on", kind="date"),
            Column("State", "get_state_display", kind="state"),
        )
        note = "Which papers this planting needs is not decided here. Check with the local authority."
        return [ledger_table("Papers", columns, papers, unit="papers", note=note, empty="No paper is attached.")]


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
    """The round to enter now, of rounds in time order: the last one that opened, or opens within three weeks."""
    today = timezone.localdate()
    opened = [item for item in rounds if (item.opens_on - today).days <= _EARLY_DAYS]
    return opened[-1] if opened else None


class PlantingFormView(SectionFormView):
    model = Planting
    action = "planting.edit"
    form_class = PlantingForm
    question = "What stands at which site, how is it laid out, who goes there?"

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
    question = "Does it stand now? The gate looks at its papers, and its answer is kept."
    submit_label = "Establish the planting"

    def get_title(self):
        return f"Establish {self.object.code}"

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
