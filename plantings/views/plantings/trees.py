"""Trees: the list, the page of a tree with its records and fate, and what is done to a tree."""

from django.utils.functional import cached_property
from django.utils.translation import gettext

from plantings.calc.census.measurements import measures_words
from plantings.choices import ReviewState
from plantings.forms.trees import PlantedTreeFilters, ReplaceForm, RetagForm, TreeAddForm, TreeMoveForm
from plantings.imports.trees import TreeSheet
from plantings.models import CensusRound, Planting, Tree
from plantings.selectors.census.reviews import is_unread
from plantings.selectors.plantings.plantings import entry_shipments
from plantings.selectors.plantings.trees import is_superseded, tree_story, trees_listed
from plantings.services.trees import TreeAsPlanted, tree_move, tree_replace, tree_retag, trees_plant
from plantings.views.census.asking import correction_url
from plantings.views.plantings.plantings import current_round, known, planting_url
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.selectors.identity.questions import question_duties
from registry.selectors.lots.lots import lot_ancestors
from registry.views.gate.gate import GateStopMixin
from registry.views.shared.addresses import link, reverse_to
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact, Panel, Section
from registry.views.shared.tables import Column, Link


def tree_url(tree):
    return reverse_to("tree_detail", tree.pk)


def place_words(tree):
    """The place of a tree in its planting: block 1, row 4, position 7."""
    parts = [gettext("block %(code)s") % {"code": tree.block.code}] if tree.block else []
    if tree.row is not None:
        parts.append(gettext("row %(row)s, position %(position)s") % {"row": tree.row, "position": tree.position})
    return ", ".join(parts) or gettext("no position recorded")


def _place_of(page):
    return place_words(page.object)


class TreeListView(RecordListView):
    model = Tree
    action = "tree.view"
    title = "Trees"
    question = "Which tree carries this tag, where is it planted, and what became of it?"
    unit = "trees"
    sheet = TreeSheet
    filter_form = PlantedTreeFilters
    question_path = "entry__lot__questions"
    others = PLANTING_LISTS
    add = ("Add a tree", "tree.edit", "tree_add")
    empty = ("No tree yet", "Trees are loaded from the sheet of the planting day, or added one by one.", None)
    columns = (
        Column("Tag", "tag", kind="code", url=tree_url),
        Column("Fate at the last round", "fate", kind="fate"),
        Column("Planting", "planting.code", kind="code", url=Link("planting_detail", "planting_id")),
        Column("Block", "block.code"),
        Column("Row", "row", "right"),
        Column("Position", "position", "right"),
        Column("Lot", "entry.lot.code", kind="code"),
        Column("Role", "entry.get_role_display"),
    )

    def get_queryset(self):
        return trees_listed(super().get_queryset())


class TreeDetailView(RecordDetailView):
    model = Tree
    action = "tree.view"
    template_name = "plantings/plantings/tree_detail.html"
    question = "What is this tree, where did it come from, and what became of it?"
    related = ("planting__site", "entry__lot__mother", "block", "replaces", "replaced_by")
    state = "get_fate_display"
    where = _place_of
    facts = (
        Fact("Planting", "planting.code", lambda page: planting_url(page.object.planting)),
        Fact("Place", _place_of),
        Fact("Number in the walk", "walk_number"),
        Fact("Lot", "entry.lot.code", lambda page: link(page.user, "lot.view", "lot_detail", page.object.entry.lot_id)),
        Fact("Generation", "entry.lot.generation_code"),
        Fact("Role", "entry.get_role_display"),
        Fact("Planted on", lambda page: page.object.planted_on or page.object.planting.planted_on, always=True),
        Fact("Note", "note"),
    )
    actions = (
        Action(
            label=lambda page: f"Record it, {page.round_to_enter.label}", route="census_tree", may="census.enter",
            when=lambda page: page.round_to_enter, key=lambda page: (page.round_to_enter.pk, page.object.pk),
        ),
        Action(label="Give it a new tag", route="tree_retag", may="tree.edit"),
        Action(label="Replace it", route="tree_replace", may="tree.edit", when=lambda page: not hasattr(page.object, "replaced_by")),
        Action(label="Correct its place", route="tree_edit", may="tree.edit"),
    )  # fmt: skip
    sections = (
        Section(
            title="Fate at every round",
            unit="rounds",
            note="A later sighting settles what earlier rounds could not tell.",
            rows=lambda page: page.story.fates,
            columns=(
                Column("Round", "0.label", url=Link("round_detail", "0.pk")),
                Column("Growing seasons", "0.growing_seasons", "right", "number"),
                Column("Recorded", lambda line: line[1].get_status_display() if line[1] else "no record"),
                Column("Fate with hindsight", "2", kind="fate"),
            ),
            missing="census records",
        ),
        Panel(draw_parts=lambda page: page.record_parts()),
        Section(
            title="Old tags",
            unit="tags",
            note="Its old tags still lead here.",
            rows=lambda page: page.object.old_tags.order_by("-until_on", "-pk"),
            columns=(
                Column("Old tag", "tag", kind="code"),
                Column("Until", "until_on", kind="date"),
                Column("Why it was changed", "reason", wide=True),
            ),
        ),
    )

    @cached_property
    def story(self):
        return tree_story(self.object)

    @cached_property
    def round_to_enter(self):
        return current_round(list(self.scoped(CensusRound).filter(planting=self.object.planting).order_by("opens_on")))

    def get_title(self):
        return f"Tree {self.object.tag}"

    def get_code(self):
        return str(self.object)

    def get_cautions(self):
        return site_cautions(self.object.planting.site)

    def get_due(self):
        return question_duties({self.object.entry.lot_id}) if self.may("identity.view") else []

    def get_page(self):
        return super().get_page() | {"fate": self.object.fate, "reason": self.story.reason}

    def get_chain(self):
        tree, user = self.object, self.user
        lot = tree.entry.lot
        line = [*lot_ancestors(lot), lot] if user.may("lot.view") else [lot]
        steps = []
        if user.may("pedigree.view") and line[0].mother:
            mother = line[0].mother
            steps.append(_step("mother tree", mother.code, reverse_to("pedigreetree_detail", mother.pk), mother.generation_code))
        for item in line:
            steps.append(_step(f"{item.kind} lot", item.code, link(user, "lot.view", "lot_detail", item.pk), str(item.year or "")))
        steps += [_step("shipment", item.code, reverse_to("shipment_detail", item.pk)) for item in entry_shipments(tree.entry, user)]
        steps.append(_step("planting", tree.planting.code, planting_url(tree.planting), tree.planting.site.name))
        if tree.replaces:
            steps.append(_step("here before it", tree.replaces.tag, tree_url(tree.replaces), tree.replaces.get_fate_display()))
        steps.append(_step("tree", tree.tag, None, tree.entry.get_role_display()) | {"current": True})
        later = getattr(tree, "replaced_by", None)
        return [*steps, _step("replaced by", later.tag, tree_url(later), later.get_fate_display())] if later else steps

    def record_parts(self):
        records = [
            {
                "record": record,
                "measures": measures_words(record),
                "struck": is_superseded(record) or record.review_state == ReviewState.REJECTED,
                "why": record.superseded_by.reason if is_superseded(record) else "",
                "unread": is_unread(record) and not is_superseded(record),
                "correct": None if is_superseded(record) else correction_url(self.user, record),
            }
            for record in self.story.records
        ]
        return [{"title": "Records", "include": "plantings/census/_records.html", "records": records}] if records else []


def _step(label, code, url=None, note=""):
    return {"label": label, "code": code, "url": url, "note": note}


class TreeAddView(GateStopMixin, RecordFormView):
    template_name = "registry/gate/gate_form.html"
    model = Tree
    action = "tree.edit"
    form_class = TreeAddForm
    question = "Which tree was planted where, of which lot?"
    submit_label = "Save the tree"
    success_message = "Tree {result.tag} saved."

    def get_initial(self):
        return super().get_initial() | known(self, Planting, "planting")

    def act(self, form, override_reason):
        values = form.cleaned_data
        tree = TreeAsPlanted(**{name: values[name] for name in ("tag", "lot", "role", "block", "row", "position", "planted_on", "note")})
        return trees_plant(
            actor=self.request.user, planting=values["planting"], trees=[tree], on=values["planted_on"], override_reason=override_reason
        )[0]


class TreeEditView(RecordFormView):
    model = Tree
    action = "tree.edit"
    form_class = TreeMoveForm
    question = "Where is the tree really, and why was another place recorded?"
    submit_label = "Save the place"
    success_message = "Place of tree {result.tag} corrected."

    def get_title(self):
        return f"Correct the place of tree {self.record.tag}"

    def perform(self, form):
        values = dict(form.cleaned_data)
        return tree_move(actor=self.request.user, tree=form.instance, reason=values.pop("reason"), **values)


class TreeRetagView(RecordActionView):
    model = Tree
    action = "tree.edit"
    form_class = RetagForm
    title = "New tag for tree {object.tag}"
    question = "Which tag does the same tree carry from now on?"
    submit_label = "Save the new tag"
    success_message = "New tag {result.tag} saved. The old tag still leads to the tree."
    service = tree_retag
    argument = "tree"


class TreeReplaceView(GateStopMixin, RecordActionView):
    template_name = "registry/gate/gate_form.html"
    model = Tree
    action = "tree.edit"
    form_class = ReplaceForm
    title = "Replace tree {object.tag}"
    question = "Which tree was planted at this position instead?"
    submit_label = "Save the replacement"
    success_message = "Replacement saved: tree {result.tag} at the position of {object.tag}."
    cautions = (
        {
            "title": "What a replacement changes",
            "lines": (
                "The replacement is a filler. It is never counted in survival.",
                "The original stays in the figures. Record it dead at its next round, or it counts as not visited.",
                "Replace within the first dormant season only (common practice): unequal ages mislead.",
            ),
        },
    )

    def act(self, form, override_reason):
        return tree_replace(actor=self.request.user, tree=self.object, override_reason=override_reason, **form.cleaned_data)

    def get_success_url(self):
        return tree_url(self.result)
