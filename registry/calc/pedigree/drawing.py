"""Layout of a pedigree drawing: the tree on the left, its parents to the right of it, the mother above the father."""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

BOX_WIDTH, BOX_HEIGHT, COLUMN_WIDTH, ROW_HEIGHT, MARGIN = 150, 44, 178, 54, 2
CUT_WIDTH = 22  # room for the sign that earlier ancestors are left out


@dataclass(frozen=True, slots=True)
class Box:
    """One place of the drawing. Lengths in units of the drawing, `x` and `y` of the upper left corner.

    `role` is what it is to the box on its left; blank for the tree itself. `again` marks an ancestor that is drawn with its own
    ancestors elsewhere; `cut` one whose ancestors are left out because the drawing ends here. `parents` are positions in the drawing.
    """

    name: Hashable
    role: str
    generation: int
    x: float
    y: float
    again: bool
    cut: bool
    parents: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """Boxes in the order they are read (a box, then its mother's side, then its father's), and the size of the drawing."""

    boxes: tuple[Box, ...]
    width: float
    height: float

    @property
    def lines(self) -> list[tuple[float, float, float, float]]:
        """(x1, y1, x2, y2) from the right edge of each box to the left edge of its parents."""
        return [
            (box.x + BOX_WIDTH, box.y + BOX_HEIGHT / 2, self.boxes[parent].x, self.boxes[parent].y + BOX_HEIGHT / 2)
            for box in self.boxes
            for parent in box.parents
        ]

    @property
    def cut(self) -> bool:
        return any(box.cut for box in self.boxes)


def draw_pedigree(parents: Mapping[Hashable, Sequence[tuple[str, Hashable]]], start: Hashable, generations: int) -> Drawing:
    """Lay out a tree, or a lot, and its ancestors.

    Parameters
    ----------
    parents : mapping of name to its parents as (role, name)
        In their order from top to bottom. Names without parents may be left out.
    start : hashable
    generations : int, 0 or more
        Steps upwards that are drawn.

    Returns
    -------
    Drawing
        No two boxes overlap. An ancestor met again is drawn as a box without ancestors of its own; it is drawn in full where it is met
        first, in reading order, among the places of the fewest steps upwards. Circles end where they close.

    Raises
    ------
    ValueError
        When generations is negative.

    Source
    ------
    Definition of this programme: a layout, nothing is computed from it.

    Examples
    --------
    >>> drawing = draw_pedigree({"c": [("mother", "a"), ("father", "b")]}, "c", 4)
    >>> [(box.name, box.x, box.y) for box in drawing.boxes]
    [('c', 2, 29.0), ('a', 180, 2), ('b', 180, 56)]
    """
    if generations < 0:
        raise ValueError(f"The generations are {generations}. Give 0 or more.")
    found = _met(parents, start, generations)
    order, children = _reading_order(found)
    rows, leaf = {}, 0
    for node in reversed(order):  # from below, so that parents have their rows before their child
        if not children[node]:
            rows[node] = leaf
            leaf += 1
        else:
            ends = [rows[child] for child in children[node]]
            rows[node] = (min(ends) + max(ends)) / 2
    place = {node: number for number, node in enumerate(order)}
    boxes = []
    for node in order:
        name, role, step, again, cut, _ = found[node]
        x, y = MARGIN + step * COLUMN_WIDTH, MARGIN + (leaf - 1 - rows[node]) * ROW_HEIGHT
        boxes.append(Box(name, role, step, x, y, again, cut, tuple(place[child] for child in children[node])))
    width = 2 * MARGIN + BOX_WIDTH + COLUMN_WIDTH * max(box.generation for box in boxes)
    width += CUT_WIDTH if any(box.cut for box in boxes) else 0
    return Drawing(tuple(boxes), width, 2 * MARGIN + BOX_HEIGHT + ROW_HEIGHT * (leaf - 1))


def _met(parents, start, generations):
    """[(name, role, step, again, cut, number of the box on the left)], the nearest first: so what is met first is drawn in full."""
    found, seen = [(start, "", 0, False, bool(parents.get(start)) and not generations, None)], {start}
    for number, (name, _, step, again, cut, _) in enumerate(found):
        if again or cut:
            continue
        for role, parent in parents.get(name, ()):
            again = parent in seen
            seen.add(parent)
            cut = not again and step + 1 == generations and bool(parents.get(parent))
            found.append((parent, role, step + 1, again, cut, number))
    return found


def _reading_order(found):
    children = [[] for _ in found]
    for number, (*_, left) in enumerate(found):
        if left is not None:
            children[left].append(number)
    order, waiting = [], [0]
    while waiting:
        node = waiting.pop()
        order.append(node)
        waiting.extend(reversed(children[node]))
    return order, children
