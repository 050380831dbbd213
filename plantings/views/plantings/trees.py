"""Trees: the list, the page of a tree with its records and fate, and what is done to a tree."""

from plantings.calc.census.measurements import measures_words
from plantings.forms.trees import PlantedTreeFilters, ReplaceForm, RetagForm, TreeAddForm, TreeMoveForm
from plantings.imports.trees import TreeSheet
from plantings.models import CensusRound, Planting, Tree
from plantings.selectors.plantings.plantings import entry_shipments
from plantings.selectors.plantings.trees import is_superseded, tree_story, trees_listed
from plantings.services.trees import TreeAsPlanted, tree_move, tree_replace, tree_retag, trees_plant
from plantings.views.plantings.additions import AdditionMixin
from plantings.views.plantings.plantings import current_round, known, planting_url, round_url
from plantings.views.sites.sites import PLANTING_LISTS, site_cautions
from registry.calc.shared.screen import day_words
from registry.selectors.identity.questions import question_duties
from registry.selectors.lots.lots import lot_ancestors
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed, link
from registry.views.shared.tables import Column, ledger_table


def tree_url(tree):
    return reverse_to("tree_detail", tree.pk)


def place_words(tree):
    """Where a tree stands: block 1, row 4, position 7."""
    parts = [f"block {tree.block.code}"] if tree.block else []
    if tree.row is not None:
        parts += [f"row {tree.row}", f"position {tree.position}"]
    return ", ".join(parts) or "no position recorded"


class TreeListView(SectionListView):
    model = Tree
    action = "tree.view"
    title = "Trees"
    question = "Which tree carries this tag, where does it stand, and what became of it?"
    unit = "trees"
    sheet = TreeSheet
    filter_form = PlantedTreeFilters
    question_path = "entry__lot__questions"
    others = PLANTING_LISTS
    add = ("Add a tree", "tree.edit", "tree_add")
    empty = ("No tree yet", "Trees are loaded from the sheet of the planting day, or added one by one.", None)
    columns = (
        Column("Tag", "tag", kind="code", url=tree_url),
        Column("Planting", "planting.code", kind="code", url=lambda tree: planting_url(tree.planting)),
        Column("Block", "block.code"),
        Column("Row", "row", "right"),
        Column("Position", "position", "right"),
        Column("Lot", "entry.lot.code", kind="code"),
        Column("Role", "entry.get_role_display"),
        Column("Fate at the last round", "fate", kind="fate"),
    )

    def get_queryset(self):
        return trees_listed(super().get_queryset())


class TreeDetailView(RecordDetailView):
    model = Tree
    action = "tree.view"
    template_name = "plantings/plantings/tree_detail.html"
    question = "What is this tree, where did it come from, and what became of it?"

    def get_queryset(self):
        return super().get_queryset().select_related("planting__site", "entry__lot__mother", "block", "replaces", "replaced_by")

    def get_title(self):
        return f"Tree {self.object.tag}"

    def get_trace_code(self):
        return str(self.object)

    def get_page(self):
        tree = self.object
        self.story = tree_story(tree)
        return {
            "code": str(tree),
            "state": tree.get_fate_display(),
            "where": place_words(tree),
            "chain": self.get_chain(),
            "due": question_duties({tree.entry.lot_id}) if self.request.user.may("identity.view") else [],
            "cautions": site_cautions(tree.planting.site),
            "fate": tree.fate,
            "reason": self.story.reason,
            "actions": self.get_actions(),
            "facts": self.get_facts(),
            "parts": [self.fates_table(), self.records_part(), *self.tags_table()],
        }

    def get_chain(self):
        tree, user = self.object, self.request.user
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
            steps.append(_step("stood here before", tree.replaces.tag, tree_url(tree.replaces), tree.replaces.get_fate_display()))
        steps.append(_step("tree", tree.tag, None, tree.entry.get_role_display()) | {"current": True})
        later = getattr(tree, "replaced_by", None)
        return [*steps, _step("replaced by", later.tag, tree_url(later), later.get_fate_display())] if later else steps

    def get_actions(self):
        tree = self.object
        census_round = current_round(list(self.scoped(CensusRound).filter(planting=tree.planting).order_by("opens_on")))
        census = []
        if census_round:
            census = [(f"Record it, {census_round.label}", "census.enter", reverse_to("census_tree", census_round.pk, tree.pk))]
        replace = [] if hasattr(tree, "replaced_by") else [("Replace it", "tree.edit", reverse_to("tree_replace", tree.pk))]
        return allowed(
            self.request.user,
            *census,
            ("Give it a new tag", "tree.edit", reverse_to("tree_retag", tree.pk)),
            *replace,
            ("Correct its place", "tree.edit", reverse_to("tree_edit", tree.pk)),
        )

    def get_facts(self):
        tree = self.object
        planted_on = tree.planted_on or tree.planting.planted_on
        return [
            ("Planting", tree.planting.code, planting_url(tree.planting)),
            ("Place", place_words(tree), None),
            ("Turn in the walk", tree.walk_number or "", None),
            ("Lot", tree.entry.lot.code, link(self.request.user, "lot.view", "lot_detail", tree.entry.lot_id)),
            ("Generation", tree.entry.lot.generation_code, None),
            ("Role", tree.entry.get_role_display(), None),
            ("Planted on", f"{day_words(planted_on)}" if planted_on else "", None),
            ("Note", tree.note, None),
        ]

    def fates_table(self):
        columns = (
            Column("Round", lambda line: line[0].label, url=lambda line: round_url(line[0])),
            Column("Growing seasons", lambda line: line[0].growing_seasons, "right", "number"),
            Column("Recorded", lambda line: line[1].get_status_display() if line[1] else "no record"),
            Column("Fate with hindsight", lambda line: line[2], kind="fate"),
        )
        note = "A later sighting settles what earlier rounds could not tell."
        return ledger_table("Fate at every round", columns, self.story.fates, unit="rounds", note=note, empty="No round has a record yet.")

    def records_part(self):
        may_correct = self.request.user.may("observation.correct")
        records = [
            {
                "record": record,
                "measures": measures_words(record),
                "struck": is_superseded(record),
                "why": record.superseded_by.reason if is_superseded(record) else "",
                "correct": reverse_to("observation_correct", record.pk) if may_correct and not is_superseded(record) else None,
            }
            for record in self.story.records
        ]
        return {"title": "Records", "include": "plantings/census/_records.html", "records": records}

    def tags_table(self):
        columns = (Column("Old tag", "tag", kind="code"), Column("Until", "until_on", kind="date"), Column("Why it was changed", "reason"))
        tags = list(self.object.old_tags.order_by("-until_on", "-pk"))
        return [ledger_table("Old tags", columns, tags, unit="tags", note="The tree is found by them too.")] if tags else []


def _step(label, code, url=None, note=""):
    return {"label": label, "code": code, "url": url, "note": note}


class TreeAddView(AdditionMixin, SectionFormView):
    model = Tree
    action = "tree.edit"
    form_class = TreeAddForm
    question = "Which tree was planted where, of which lot?"

    def get_initial(self):
        return super().get_initial() | known(self, Planting, "planting")

    def plant(self, form, override_reason):
        values = form.cleaned_data
        tree = TreeAsPlanted(**{name: values[name] for name in ("tag", "lot", "role", "block", "row", "position", "planted_on", "note")})
        return trees_plant(
            actor=self.request.user, planting=values["planting"], trees=[tree], on=values["planted_on"], override_reason=override_reason
        )[0]


class TreeEditView(SectionFormView):
    model = Tree
    action = "tree.edit"
    form_class = TreeMoveForm
    question = "Where does it really stand, and why did the book say otherwise?"

    def get_title(self):
        return f"Correct the place of tree {self.record.tag}"

    def perform(self, form):
        values = dict(form.cleaned_data)
        return tree_move(actor=self.request.user, tree=form.instance, reason=values.pop("reason"), **values)


class TreeRetagView(RecordActionView):
    model = Tree
    action = "tree.edit"
    form_class = RetagForm
    question = "Which tag does the same tree carry from now on?"
    submit_label = "Give it the new tag"

    def get_title(self):
        return f"New tag for tree {self.object.tag}"

    def perform(self, form):
        return tree_retag(actor=self.request.user, tree=self.object, **form.cleaned_data)

    def get_success_message(self):
        return f"The tree carries tag {self.result.tag} now. It is found by its old tag too."


class TreeReplaceView(AdditionMixin, RecordActionView):
    model = Tree
    action = "tree.edit"
    form_class = ReplaceForm
    question = "Which tree stands at this position from now on?"
    submit_label = "Plant the replacement"

    def get_title(self):
        return f"Replace tree {self.object.tag}"

    def get_cautions(self):
        lines = [
            "The replacement is a filler. It is never counted in survival.",
            "The original stays in the figures. Record it dead at its next round, or it counts as not visited.",
            "Replace within the first dormant season only (common practice): unequal ages mislead.",
        ]
        return [{"title": "What a replacement changes", "lines": lines}]

    def plant(self, form, override_reason):
        return tree_replace(actor=self.request.user, tree=self.object, override_reason=override_reason, **form.cleaned_data)

    def get_success_message(self):
        return f"Tree {self.result.tag} stands at the position of {self.object.tag}."

    def get_success_url(self):
        return tree_url(self.result)
