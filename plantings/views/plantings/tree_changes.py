"""What is done to a tree: planted, put where it really is, tagged again, replaced."""

from dataclasses import fields

from plantings.forms.trees import ReplaceForm, RetagForm, TreeAddForm, TreeMoveForm
from plantings.models import Planting, Tree
from plantings.services.tree_lists.moves import tree_move
from plantings.services.tree_lists.retags import tree_retag
from plantings.services.trees import TreeAsPlanted, tree_replace, trees_plant
from plantings.views.plantings.plantings import known
from registry.views.gate.gate import GateStopMixin
from registry.views.shared.forms import RecordActionView, RecordFormView


class TreeAddView(GateStopMixin, RecordFormView):
    model = Tree
    action = "tree.edit"
    form_class = TreeAddForm
    service = trees_plant
    argument = ""
    question = "Which tree was planted where, of which lot?"
    success_message = "Tree {result.tag} saved."
    initial = property(lambda page: known(page, Planting, "planting"))

    def values(self, form):
        values = form.cleaned_data
        tree = TreeAsPlanted(**{item.name: values[item.name] for item in fields(TreeAsPlanted)})
        return {"planting": values["planting"], "trees": [tree], "on": values["planted_on"]}

    def perform(self, form):
        [tree] = super().perform(form)
        return tree


class TreeEditView(RecordFormView):
    model = Tree
    action = "tree.edit"
    form_class = TreeMoveForm
    service = tree_move
    argument = "tree"
    question = "Where is the tree really, and why was another place recorded?"
    submit_label = "Save the place"
    success_message = "Place of tree {result.tag} corrected."
    title = property(lambda page: f"Correct the place of tree {page.record.tag}")

    def values(self, form):
        return form.cleaned_data


class TreeRetagView(RecordActionView):
    model = Tree
    action = "tree.edit"
    form_class = RetagForm
    title = "New tag for tree {object.tag}"
    question = "Which tag does the same tree carry from now on?"
    submit_label = "Save the new tag"
    success_message = "New tag {result.tag} saved. The old tag still leads to the tree."
    service = tree_retag


class TreeReplaceView(GateStopMixin, RecordActionView):
    model = Tree
    action = "tree.edit"
    form_class = ReplaceForm
    service = tree_replace
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
    leads_to = property(lambda page: page.result)
