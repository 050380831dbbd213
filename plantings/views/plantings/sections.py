"""The sections of the page of a planting. The page reads each set of rows once (see `PlantingDetailView`)."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from plantings.selectors.census.rounds import expected
from plantings.selectors.plantings.unknown_plots import NO_SURVIVAL, plot_planted_words, unknown_plots_of
from plantings.views.census.visits import visit_section
from plantings.views.plantings.planted import planted_column
from plantings.views.plantings.positions import map_parts
from registry.models import Authorization
from registry.selectors.shared.local_words import local_count
from registry.views.gate.gate import other_answers
from registry.views.shared.sections import Action, Panel, Section
from registry.views.shared.tables import Column, Link


def _counted(count):
    """What was counted on a plot, or nothing."""
    if count is None:
        return ""
    values = {"alive": local_count(count.alive), "dead": local_count(count.dead)}
    return gettext("%(alive)s alive, %(dead)s dead") % values


_PLOT_COLUMNS = (Column(_("Plots counted"), "counted", "right", "number"), Column(_("Plots"), "plots", "right", "number"))

CENSUS_ROUNDS = Section(
    title=_("Census rounds"),
    unit="rounds",
    rows=lambda page: page.rounds[::-1],
    columns=lambda page, rounds: (
        Column(_("Round"), "label", url=Link("round_detail")),
        Column(_("Growing seasons"), "growing_seasons", "right", "number"),
        Column(_("Opens"), "opens_on", kind="date"),
        Column(_("Closes"), "closes_on", kind="date"),
        Column(_("Records in"), "recorded", "right", "number"),
        Column(_("Records expected"), expected, "right", "number"),
        *(_PLOT_COLUMNS if any(item.plots for item in rounds) else ()),
        Column(_("Enter"), lambda item: _("key the field form"), url=Link("census_grid"), may="census.enter"),
    ),
    missing=_("census rounds"),
    add=Action("Add a round", "round_add", "round.edit", key=None, query=lambda page: page.named),
)
ENTRIES = Section(
    title=_("Entries"),
    unit="entries",
    note=_("Only test and check trees are counted in survival."),
    rows=lambda page: page.entries,
    may="tree.lot",
    columns=(
        Column(_("Lot"), "entry.lot.code", kind="code", url=Link("lot_detail", "entry.lot_id", "lot.view")),
        Column(_("Role"), "entry.get_role_display"),
        Column(_("Generation"), "entry.lot.generation_code"),
        planted_column("planted"),
        Column(
            _("Supply"),
            lambda line: "; ".join(
                _("%(count)s from %(supply)s") % {"count": local_count(count), "supply": words} for words, count in line.supplies
            ),
            may="shipment.view",
            wide=True,
        ),
    ),
    missing=_("trees"),
)
COUNTED_PLOTS = Section(
    title=_("Counted plots"),
    unit="plots",
    note=_("Trees counted here, not tagged."),
    rows=lambda page: page.object.counted_plots.select_related("entry__lot"),
    columns=(
        Column(_("Plot"), "code", kind="code"),
        Column(_("Lot"), "entry.lot.code", kind="code", may="tree.lot"),
        Column(_("Role"), "entry.get_role_display", may="tree.lot"),
        Column(_("Planted (count)"), plot_planted_words, "right"),
    ),
    missing=_("counted plots"),
    add=Action("Add a counted plot", "countedplot_add", "tree.edit", key=None, query=lambda page: page.named),
)
UNKNOWN_PLOTS = Section(
    title=_("Counted plots of an unknown number planted"),
    unit="plots",
    note=NO_SURVIVAL,
    when=lambda page: any(line.unknown_plots for line in page.entries),
    rows=lambda page: unknown_plots_of(page.object),
    columns=lambda page, lines: (
        Column(_("Plot"), "plot.code", kind="code"),
        *(
            Column(item.label, lambda line, item=item: _counted(line.counts.get(item.pk)))
            for item in page.rounds
            if any(item.pk in line.counts for line in lines)
        ),
        Column(_("Lot"), "plot.entry.lot.code", kind="code", may="tree.lot"),
        Column(_("Role"), "plot.entry.get_role_display", may="tree.lot"),
    ),
)
CREW = Section(
    title=_("Crew"),
    unit="people",
    rows=lambda page: page.object.crew.order_by("username"),
    columns=(
        Column(_("Person"), str, url=Link("person_detail", may="person.view")),
        Column(_("Role"), lambda person: _(person.role_label)),
    ),
    missing=_("a crew (a volunteer on the crew sees this planting)"),
    add=Action("Change the crew", "planting_edit", "planting.edit"),
)
PAPERS = Section(
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
)

PLANTING_SECTIONS = (
    Panel(draw_parts=lambda page: page.gate_parts(), may="determination.view"),
    CENSUS_ROUNDS,
    ENTRIES,
    Panel(draw_parts=lambda page: map_parts(page.object, page.user, sum(line.trees for line in page.entries))),
    COUNTED_PLOTS,
    UNKNOWN_PLOTS,
    CREW,
    PAPERS,
    other_answers("planting", lambda page: page.gate_records[1]),
    Panel(draw_parts=lambda page: [visit_section(page.user, page.object.site, page.visit_day)]),
)
