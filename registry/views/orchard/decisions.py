"""Selection decisions: the list, the page of one, deciding on a tree."""

from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import Decision, TreeStatus
from registry.forms.orchard.orchard import DecisionFilters, DecisionForm
from registry.models import PedigreeTree, SelectionDecision
from registry.selectors.duties.duty_line import Duty
from registry.selectors.orchard.floors import floor_warnings, programme_floors
from registry.selectors.orchard.ratings import compared_ratings
from registry.selectors.orchard.second import is_second, names_words, waits_for_second
from registry.services.orchard.decisions import decision_enter
from registry.views.orchard.rating_words import position_words, rating_columns, reading_words
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.addresses import link, record_url
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link


def decision_columns(*, tree_column=True):
    """Columns of a table of decisions (with their tree)."""
    tree = Column("Tree", "tree.code", kind="code", url=Link("pedigreetree_detail", "tree_id"))
    return (
        *([tree] if tree_column else []),
        Column("Decided on", "decided_on", kind="date", url=Link("decision_detail")),
        Column("Decision", "get_decision_display", kind="state"),
        Column("Evidence", "evidence", wide=True),
        Column("By", names_words),
        Column("Floors broken", lambda decision: " ".join(decision.warnings)),
        Column("Reason to go below the floor", "warnings_answer"),
    )


class DecisionListView(RecordListView):
    model = SelectionDecision
    action = "orchard.view"
    question = "Which trees are kept and which are to be rogued, on what evidence, by whom?"
    unit = "decisions"
    filter_form = DecisionFilters
    others = MATERIAL_LISTS
    empty = ("No decisions yet", "Open the page of a tree and choose “Decide on the tree”.", None)
    related = ("tree", "agreement")
    columns = (
        *decision_columns(),
        Column("Status of the tree", "tree.get_status_display", kind="state"),
        Column("Orchard", "tree.orchard"),
    )


class DecisionDetailView(RecordDetailView):
    model = SelectionDecision
    action = "orchard.view"
    question = "What was decided about this tree, and on what evidence?"
    related = ("tree", "entered_by", "agreement")
    state = "get_decision_display"
    title = "Decision on {object.tree.code}"
    trace_code = property(lambda page: page.object.tree.code)
    facts = (
        Fact("Tree", "tree.code", Link("pedigreetree_detail", "tree_id")),
        Fact("Decided on", "decided_on"),
        Fact("Decided by", "first_name"),
        Fact("Agreed by", "second_name"),
        Fact("Confirmed", lambda page: page.confirmed_words),
        Fact("Evidence", "evidence", always=True),
        Fact("Method", "method"),
        Fact("Reason to go below the floor", lambda page: page.object.warnings_answer or "no warning was shown"),
        Fact("Entered by", "entered_by"),
    )
    actions = (
        Action("Confirm as the second person", "decision_confirm", "decision.enter", when=lambda page: page.is_second),
        Action("Make a link for the second person", "decision_link", "decision.enter", when=lambda page: page.waits),
        Action("Decide again", "pedigreetree_decide", "decision.enter", key="tree_id"),
        Action("Set the status of the tree", "pedigreetree_status", "status.enter", key="tree_id"),
    )
    sections = (
        Section(
            title="Ratings named as evidence",
            unit="ratings",
            rows=lambda page: compared_ratings(page.object.ratings.select_related("tree__taxon", "scale", "superseded_by")),
            columns=rating_columns(),
            missing="ratings as evidence",
        ),
    )

    waits = property(lambda page: waits_for_second(page.object))
    is_second = property(lambda page: page.waits and is_second(page.user, page.object))

    @property
    def confirmed_words(self):
        if not hasattr(self.object, "agreement"):
            return "not yet" if self.waits else ""
        agreement = self.object.agreement
        return f"{day_words(timezone.localtime(agreement.entered_at).date())}, {agreement.get_how_display()}"

    def get_due(self):
        decision, tree = self.object, self.object.tree
        lines = [Duty("odd", f"A floor was broken: {warning}", decision.decided_on) for warning in decision.warnings]
        if self.waits:
            lines.append(Duty("soon", f"{decision.second_name} has not confirmed it yet.", decision.decided_on))
        later = tree.decisions.first()
        if later != decision:
            text = f"A later decision applies: {later.get_decision_display()}."
            lines.append(Duty("info", text, later.decided_on, record_url(later)))
        elif decision.decision == Decision.ROGUED and tree.status == TreeStatus.STANDING:
            lines.append(Duty("soon", "The tree is still standing.", None, link(self.user, "status.enter", "pedigreetree_status", tree.pk)))
        return lines


class DecisionEnterView(RecordActionView):
    """Deciding on one tree. A floor that would break is shown first; going below it needs a reason."""

    model = PedigreeTree
    action = "decision.enter"
    form_class = DecisionForm
    service = decision_enter
    argument = "tree"
    template_name = "registry/orchard/decision_form.html"
    title = "Decide on {object.code}"
    question = "Is it kept, rogued or held, on what evidence, and who agrees?"
    submit_label = "Save the decision"
    success_message = "Decision saved."
    warnings = ()
    leads_to = property(lambda page: page.result)

    @property
    def form_extras(self):
        lines = compared_ratings(self.object.ratings.filter(superseded_by__isnull=True).select_related("tree__taxon", "scale"))
        return {"tree": self.object, "lines": {line.rating.pk: _choice_words(line) for line in lines}}

    def values(self, form):
        data = form.cleaned_data
        names = ("decision", "decided_on", "evidence", "method", "first_name", "second_name", "warnings_answer")
        more = {"needs_second": True, "ratings": data.get("ratings", ()), "warnings_seen": data["warnings_seen"] or ()}
        return {name: data[name] for name in names} | more

    def form_invalid(self, form):
        if form.data.get("decision") == Decision.ROGUED:
            self.warnings = floor_warnings(self.object)
            form.ask_for_answer(self.warnings)
        return super().form_invalid(form)

    def get_page(self):
        return {"warnings": self.warnings, "floors": programme_floors(), "settings_url": reverse("setting_list")}


def _choice_words(line):
    rating = line.rating
    words = position_words(line) if line.comparison.reason else f"position {position_words(line)}"
    return f"{day_words(rating.rated_on)}, {rating.scale}: {reading_words(rating)}; {words}"
