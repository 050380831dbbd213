"""New tags of trees: one tree, or a list of thousands."""

import datetime
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from plantings.models import Tree, TreeTag
from plantings.services.trees import planting_locked
from registry.services.audit.trail import audit_record, made_note, state_note
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check
from registry.services.shared.rows_refused import RowsRefused

__all__ = ["NewTag", "tree_retag", "trees_retag"]

_OTHERS = {field.name for field in Tree._meta.fields} - {"tag"}


@dataclass(frozen=True, slots=True)
class NewTag:
    old: str
    tag: str
    on: datetime.date
    reason: str


@write
def tree_retag(*, actor, tree, tag, on, reason):
    """Give a tree a new tag. The old one stays findable and is never given to another tree."""
    try:
        trees_retag(actor=actor, planting=tree.planting, new_tags=[NewTag(tree.tag, tag, on, reason)])
    except RowsRefused as refused:
        raise refused.faults[0] from None
    tree.refresh_from_db()
    return tree


@write
def trees_retag(*, actor, planting, new_tags):
    """Give trees of one planting new tags, all or none, as `tree_retag` does. Each has its audit entry.

    Parameters
    ----------
    new_tags : list of NewTag, in the order they were given: a tree can get one after the other

    Raises
    ------
    RowsRefused
        With those that cannot be given, by the names of NewTag.
    """
    planting = planting_locked(planting)
    trees = {tree.tag: tree for tree in planting.trees.all()}
    used = set(TreeTag.objects.filter(tree__planting=planting).values_list("tag", flat=True))
    faults, old_tags, retagged = {}, [], {}
    for number, new in enumerate(new_tags):
        try:
            tree = _checked(planting, new, trees, used)
        except ValidationError as error:
            faults[number] = error
            continue
        del trees[new.old]
        trees[new.tag], retagged[tree.pk] = tree, tree
        used.add(new.old)
        old_tags.append(TreeTag(tree=tree, tag=new.old, until_on=new.on, reason=new.reason))
        audit_record(actor=actor, verb="tree.retagged", obj=tree, changes={"tag": [new.old, new.tag]}, reason=new.reason)
    if faults:
        raise RowsRefused(faults)
    made_note(TreeTag, [old.pk for old in TreeTag.objects.bulk_create(old_tags, batch_size=500)])
    Tree.objects.bulk_update(retagged.values(), ["tag"], batch_size=500)
    for tree in [*retagged.values()][:1]:
        state_note(Tree, tree)  # one of them notes the trees of the planting


def _checked(planting, new, trees, used):
    """The tree that gets a new tag, with it."""
    tree = trees.get(new.old)
    if tree is None:
        raise ValidationError({"old": f"is not on a tree of planting {planting.code}; correct it, or load the trees first"})
    if not new.reason.strip():
        raise ValidationError({"reason": "Say why the tree gets a new tag."})
    day_check(on=new.on)
    if new.tag in used:
        raise ValidationError({"tag": f"Tag {new.tag} was used in {planting} before. A tag is never reused."})
    if new.tag in trees and trees[new.tag] is not tree:
        raise tree.unique_error_message(Tree, ("planting", "tag"))
    tree.tag = new.tag
    try:
        tree.full_clean(exclude=_OTHERS, validate_unique=False, validate_constraints=False)
    except ValidationError:
        tree.tag = new.old
        raise
    return tree
