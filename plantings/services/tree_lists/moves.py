"""Corrections of where and when trees were planted: one tree, or a list of thousands."""

import copy
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from plantings.calc.sites.places import refused_places
from plantings.models import Tree
from plantings.services.tree_lists.checks import place_taken_words
from plantings.services.tree_lists.points import point_faults
from plantings.services.trees import blocks_by_code, planting_locked, planting_renumber
from registry.models.shared.among import Keys
from registry.services.audit.changes import changes_between, field_values, named_changes
from registry.services.audit.trail import audit_record, state_note
from registry.services.audit.write import write
from registry.services.shared.rows_refused import RowsRefused

__all__ = ["TreeMove", "tree_move", "trees_move"]

_PLACE = {"block", "row", "position"}
_UNCHANGED = {"planting", "entry", "tag", "occupant", "replaces", "fate", "walk_number"}


@dataclass(frozen=True, slots=True)
class TreeMove:
    tree: Tree
    changes: dict  # block (by code), row, position, longitude, latitude, accuracy_m, point_is_right, planted_on, note


@write
def tree_move(*, actor, tree, reason="", **changes):
    """Correct where and when a tree was planted: block (by code), row, position, longitude, latitude, accuracy_m, planted_on, note.

    A point far from the site needs `point_is_right`. The accuracy goes with its point: a new point without one has none.
    """
    trees_move(actor=actor, planting=tree.planting, moves=[TreeMove(tree, changes)], reason=reason)
    tree.refresh_from_db()
    return tree


@write
def trees_move(*, actor, planting, moves, reason=""):
    """Correct where and when trees of one planting were planted, all or none. Each has its audit entry; the planting is numbered once.

    Positions are checked for where the trees are in the end, so two trees can swap places. Trees without a position keep the order they
    had before.

    Parameters
    ----------
    moves : list of TreeMove, each tree once

    Raises
    ------
    RowsRefused
        With the moves that break a rule of their tree, lead to a position that another tree has, or to a point far from the site.
    """
    planting = planting_locked(planting)
    codes = {move.changes["block"] for move in moves if move.changes.get("block")}
    blocks = blocks_by_code(planting, codes)
    trees = {tree.pk: tree for tree in planting.trees.all()}
    by_key = {block.pk: block for block in blocks.values()}
    for tree in trees.values():
        tree.block = by_key.get(tree.block_id)  # with its planting, which its name is made of: no query for each
    before = {move.tree.pk: copy.copy(trees[move.tree.pk]) for move in moves}
    _refuse(planting, moves, trees, blocks)
    changes = {}
    for key, old in before.items():
        if changed := changes_between(field_values(old), field_values(trees[key])):
            changes[key] = named_changes(old, trees[key], changed)
    if changes:
        _store([trees[key] for key in changes], changes)
        for key, changed in changes.items():
            audit_record(actor=actor, verb="tree.changed", obj=trees[key], changes=changed, reason=reason)
        planting_renumber(planting)
    return [trees[move.tree.pk] for move in moves]


def _refuse(planting, moves, trees, blocks):
    """Make the changes to the records, and raise RowsRefused for those that cannot be stored."""
    on_file, wanted = {key: _place(tree) for key, tree in trees.items()}, {}
    faults = _change(planting, moves, trees, blocks)
    for number, move in enumerate(moves):
        tree = trees[move.tree.pk]
        if number in faults:
            continue
        try:
            tree.full_clean(exclude=_UNCHANGED | {"block"}, validate_unique=False)
        except ValidationError as error:
            faults[number] = error
        else:
            if _place(tree) != on_file[tree.pk]:
                wanted[tree.pk] = _place(tree)
    numbers = {move.tree.pk: number for number, move in enumerate(moves)}
    tied, refused = {}, refused_places(on_file, wanted)
    holders = {place: key for key, place in (on_file | {key: place for key, place in wanted.items() if key not in refused}).items()}
    for key, waiting in refused.items():
        tree = trees[key]
        holder = trees[holders[wanted[key]]]
        faults[numbers[key]] = place_taken_words(planting, tree.block and tree.block.code, tree.row, tree.position, holder.tag)
        tied[numbers[key]] = [numbers[other] for other in waiting]
    if faults:
        raise RowsRefused(faults, tied)


def _change(planting, moves, trees, blocks):
    """Make the changes to the records. Returns the faults of new points."""
    points = {}
    for number, move in enumerate(moves):
        tree = trees[move.tree.pk]
        before = (tree.longitude, tree.latitude)
        for name, value in move.changes.items():
            if name != "point_is_right":
                setattr(tree, name, blocks.get(value) if name == "block" else value)
        if (tree.longitude, tree.latitude) != before:
            tree.accuracy_m = move.changes.get("accuracy_m")
            points[number] = (tree.longitude, tree.latitude, tree.accuracy_m, move.changes.get("point_is_right", False))
    return point_faults(planting.site, points)


def _place(tree):
    return None if tree.row is None else (tree.block_id, tree.row, tree.position, tree.occupant)


def _store(trees, changes):
    names = sorted({name for changed in changes.values() for name in changed})
    moved = [key for key, changed in changes.items() if _PLACE & changed.keys()]
    # out of their places first: the database looks at one row after the other, and trees may swap
    Tree.objects.filter(pk__among=Keys(moved)).update(row=None, position=None)
    Tree.objects.bulk_update(trees, sorted({*names, "row", "position"}), batch_size=500)
    state_note(Tree, trees[0])  # one of them notes the trees of the planting
