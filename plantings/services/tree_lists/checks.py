"""What is wrong with trees that somebody enters as planted, each by its number in the list."""

from plantings.models import TreeTag
from plantings.services.tree_lists.points import point_faults
from registry.services.shared.rows_refused import RowsRefused

__all__ = ["place_taken_words", "trees_check"]


def trees_check(planting, trees):
    """Refuse half a position, a point that cannot be right or that somebody must be asked about, a tag or a position that is taken."""
    _refuse_half_a_position(trees)
    _refuse_points(planting, trees)
    _refuse_taken(planting, trees)


def _refuse_half_a_position(trees):
    half = [number for number, tree in enumerate(trees) if (tree.row is None) != (tree.position is None)]
    if half:
        raise RowsRefused(dict.fromkeys(half, "Give row and position together, or neither."))


def _refuse_points(planting, trees):
    points = {number: (*tree.point.values(), tree.point_is_right) for number, tree in enumerate(trees) if tree.has_point}
    if faults := point_faults(planting.site, points):
        raise RowsRefused(faults)


def _refuse_taken(planting, trees):
    tags = {*planting.trees.values_list("tag", flat=True), *TreeTag.objects.filter(tree__planting=planting).values_list("tag", flat=True)}
    taken = {place: tree.tag for place, tree in enumerate(trees) if tree.tag in tags}
    if taken:
        faults = {place: _tag_words(planting, [tag]) for place, tag in taken.items()}
        raise RowsRefused(faults, said=_tag_words(planting, sorted(taken.values())))
    on_file = planting.trees.filter(row__isnull=False).order_by("occupant").values_list("block__code", "row", "position", "tag")
    places = {tuple(place): tag for *place, tag in on_file}
    full = {}
    for number, tree in enumerate(trees):
        place = (tree.block or None, tree.row, tree.position)
        if tree.row is not None and place in places:
            said = place_taken_words(planting, tree.block, tree.row, tree.position, places[place])
            full[number] = f"{said} Enter a replacement as a replacement of the tree that was there."
        places.setdefault(place, tree.tag)
    if full:
        raise RowsRefused(full)


def place_taken_words(planting, block, row, position, tag):
    return f"Planting {planting.code}: block {block or '–'}, row {row}, position {position} is taken by tree {tag}."


def _tag_words(planting, tags):
    return f"Planting {planting.code} already has a tree tagged {', '.join(tags[:5])}. A tag is never reused."
