"""Sheet of the trees that got a new tag."""

from collections import defaultdict

from django.core.exceptions import ValidationError

from plantings.models import Planting, TreeTag
from plantings.services.tree_lists.retags import NewTag, trees_retag
from registry.imports.sheets.append_only_sheets import LOADED, differs
from registry.imports.sheets.cells.cell import SheetField
from registry.imports.sheets.cells.dates import PartDateCell
from registry.imports.sheets.cells.records import RecordCell
from registry.imports.sheets.cells.values import TextCell
from registry.imports.sheets.sheet import Sheet
from registry.services.shared.rows_refused import RowsRefused

_OURS = {"old": "tag", "tag": "new_tag", "on": "until_on"}  # what the service calls them: our columns


class RetagSheet(Sheet):
    kind = "retag"
    title = "Trees with a new tag"
    about = (
        "One row for each tree that got a new tag: the old one, the new one and the day. The old tag still finds the tree and is never "
        "given to another. Load it after the trees, and after the census records that name the old tags."
    )
    edit_action = "tree.edit"
    model = TreeTag
    key = ("planting", "tag")

    planting = SheetField("Planting", "tree__planting", RecordCell(Planting), required=True, example="ST-04-2020")
    tag = SheetField("Old tag", "tag", TextCell(40), required=True, example="0132")
    new_tag = SheetField("New tag", "new_tag", TextCell(40), required=True, example="0132B")
    until_on = SheetField("Day of the new tag", "until_on", PartDateCell(), required=True, example="2022-05-03")
    reason = SheetField("Reason (blank: loaded from a sheet)", "reason", TextCell(200), example="tag lost")

    def current_for(self, items):
        plantings = {item.key[0] for item in items}
        return {(old.tree.planting_id, old.tag): old for old in self._with_new_tags(TreeTag.objects.filter(tree__planting__in=plantings))}

    def export_rows(self, queryset):
        wanted = set(queryset.values_list("pk", flat=True))
        return [old for old in self._with_new_tags(TreeTag.objects.filter(tree__old_tags__in=wanted).distinct()) if old.pk in wanted]

    @staticmethod
    def _with_new_tags(old_tags):
        """Old tags with the one that came after each: the next old one of the tree, or the tag it has now."""
        by_tree = defaultdict(list)
        for old in old_tags.select_related("tree__planting").order_by("pk"):
            by_tree[old.tree_id].append(old)
        for found in by_tree.values():
            for old, following in zip(found, [*found[1:], None], strict=True):
                old.new_tag = following.tag if following else old.tree.tag
                yield old

    def store_items(self, items, actor, reason, plan):
        """By day, so that a tree may get one tag after the other in the same sheet; those of one planting together."""
        plantings = defaultdict(list)
        for item in sorted(items, key=lambda item: item.values["until_on"]):
            if item.current:
                self.attempt(plan, item, lambda item=item: _refuse_other(item))
            else:
                plantings[item.values["planting"]].append(item)
        for planting, rows in plantings.items():
            self.attempt(plan, rows[0], lambda planting=planting, rows=rows: _retag(actor, planting, rows), together=rows[1:])


def _refuse_other(item):
    raise differs(item, "A tag that was given stays on file. If this one is wrong, give the tree another tag on its page.")


def _retag(actor, planting, items):
    rows = [item.values for item in items]
    new_tags = [NewTag(values["tag"], values["new_tag"], values["until_on"], values.get("reason", LOADED)) for values in rows]
    try:
        trees_retag(actor=actor, planting=planting, new_tags=new_tags)
    except RowsRefused as refused:
        raise RowsRefused({place: _in_our_words(error, planting) for place, error in refused.faults.items()}) from None


def _in_our_words(error, planting):
    """A refusal of the service at our columns."""
    if not hasattr(error, "error_dict"):
        return ValidationError({"new_tag": f"is on another tree of planting {planting.code}. A tag is never reused."})
    return ValidationError({_OURS.get(name, name): messages for name, messages in error.message_dict.items()})
