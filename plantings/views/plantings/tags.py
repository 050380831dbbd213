"""Tags for the trees of a planting, in walk order."""

from plantings.forms.tags import PlantingTagForm
from plantings.models import Planting
from plantings.selectors.plantings.trees import trees_to_tag
from registry.choices import IssuedKind
from registry.prints.drafts import IN_QUESTION
from registry.prints.labels import Label, draw_labels
from registry.selectors.identity.questions import lots_in_question
from registry.views.prints.issued import label_part
from registry.views.prints.print_view import PrintView


class PlantingTagsView(PrintView):
    model = Planting
    action = "print.make"
    kind = IssuedKind.TAGS
    form_class = PlantingTagForm
    question = "Which trees need a tag? They come in the order a crew walks."
    submit_label = "Make the tags"
    title = "Planting tags of {object.code}"
    form_extras = property(lambda page: {"trees": trees_to_tag(page.object)})

    def get_labels(self, trees):
        trees = list(trees)
        marked = lots_in_question({tree.entry.lot_id for tree in trees})
        return [tree_label(tree, self.scan(str(tree)), in_question=tree.entry.lot_id in marked) for tree in trees]

    def draw(self, form):
        data = form.cleaned_data
        self.lots = {tree.entry.lot for tree in data["trees"]}
        labels = self.get_labels(data["trees"])
        return draw_labels(labels, data["sheet"], start=data["start"], edges=data["edges"], title=self.get_title(), made_on=self.today)

    def get_links(self):
        return {"lots": self.lots}

    def get_shown(self):
        first = self.get_labels(trees_to_tag(self.object)[:1])
        parts = [label_part(label) | {"title": "The first tag says"} for label in first]
        return {"code": self.object.code, "where": str(self.object.site), "parts": parts}


def tree_label(tree, scan, *, in_question=False):
    """The tag of a tree: the code that finds it, its place, its lot and role."""
    place = [f"block {tree.block.code}" if tree.block else "", f"row {tree.row} · position {tree.position}" if tree.row else ""]
    return Label(
        code=str(tree),
        scan=scan,
        mark=tree.entry.get_role_display().upper(),
        number=f"walk {tree.walk_number}",
        title=" · ".join(part for part in place if part),
        lines=(f"lot {tree.entry.lot.code}",),
        alerts=(IN_QUESTION,) if in_question else (),
    )
