"""A pedigree as people write it (name, mother, father, in any order) into arrays with every parent before its children."""

from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

NO_PARENT = -1
UNKNOWN_SPELLINGS = frozenset(
    ("", "0", ".", "-", "–", "—", "?", "*", "na", "n/a", "#n/a", "<na>", "nan", "none", "null", "unk", "unknown")
)  # fmt: skip
_LOOPS_SHOWN = 20


class PedigreeError(ValueError):
    """The rows cannot be a pedigree. `problems` holds one sentence for each fault, with its row numbers."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))


@dataclass(frozen=True)
class Pedigree:
    """Trees in an order in which every parent comes before its children. Made by `read_pedigree`.

    Parameters
    ----------
    names : list of str, length n
    mothers, fathers : array of int, length n
        Position of the parent in `names`; -1 when it is unknown.
    depths : array of int, length n
        Generations to the farthest founder: 0 for a tree with no known parent.
    rows : array of int, length n
        Row number of the tree as given; 0 for a parent that has no row of its own.
    positions : dict of str to int
        Made from the names.
    """

    names: list[str]
    mothers: array
    fathers: array
    depths: array
    rows: array
    positions: dict[str, int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "positions", {name: place for place, name in enumerate(self.names)})

    def __len__(self) -> int:
        return len(self.names)

    def is_founder(self, position: int) -> bool:
        """Whether neither parent of the tree is known."""
        return self.mothers[position] == self.fathers[position] == NO_PARENT

    def position(self, name: str) -> int:
        """Index of a tree in the arrays; ValueError with its name when it is not in the pedigree."""
        try:
            return self.positions[name]
        except KeyError:
            raise ValueError(f"“{name}” is not in the pedigree. Give a name as it is written there.") from None


def is_unknown(cell: object) -> bool:
    """Whether a cell says that a parent is not known.

    Source
    ------
    Definition of this programme: spellings met in sheets.

    Examples
    --------
    >>> [is_unknown(cell) for cell in (None, " ", 0, "NA", "Unk", ".", "A 1")]
    [True, True, True, True, True, True, False]
    """
    return tree_name(cell).casefold() in UNKNOWN_SPELLINGS


def tree_name(cell: object) -> str:
    """The name in a cell: without blanks at its ends; 17.0 of a spreadsheet becomes 17.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> tree_name(" Old  Field 3 "), tree_name(17.0)
    ('Old  Field 3', '17')
    """
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def read_pedigree(
    rows: Iterable[tuple[object, object, object]], first_row: int = 1, repeated: list[str] | None = None
) -> Pedigree:  # fmt: skip
    """Read rows of (name, mother, father).

    Parameters
    ----------
    rows : iterable of (name, mother, father)
        In any order. A parent is unknown when its cell is empty, 0, NA, nan, UNK, unknown, a dot, a dash
        or the like, in capitals or not. Rows empty in all three cells are passed over.
    first_row : int
        Number of the first row, for messages.
    repeated : list, optional
        One sentence is added to it for each row that says the same as an earlier one.

    Returns
    -------
    Pedigree
        Rows keep their order as far as parents allow. Parents without a row become founders. The same row
        twice counts once.

    Raises
    ------
    PedigreeError
        When a row has no name, a tree has two different rows, is its own parent or its own ancestor, or
        there are no rows. All faults are named with their rows (the first 20 loops), loops beside the others: of two rows of one
        tree the first counts there.

    Source
    ------
    Common practice, no source.

    Examples
    --------
    >>> pedigree = read_pedigree([("F1-3", "Oak Lane", "J 7"), ("Oak Lane", "0", "NA")])
    >>> pedigree.names, list(pedigree.mothers), list(pedigree.depths)
    (['Oak Lane', 'J 7', 'F1-3'], [-1, -1, 0], [0, 0, 1])
    """
    parents, row_of, problems = _parents_by_name(rows, first_row, [] if repeated is None else repeated)
    if not parents and not problems:
        raise PedigreeError(["There are no rows. Give one row for each tree: name, mother, father."])
    names = list(parents)
    known = parents.keys()
    names += dict.fromkeys(parent for pair in parents.values() for parent in pair if parent and parent not in known)
    at = {name: place for place, name in enumerate(names)}
    at[""] = NO_PARENT
    mothers, fathers = (array("q", (at[parents[name][side]] for name in parents)) for side in (0, 1))
    without_row = array("q", [NO_PARENT]) * (len(names) - len(parents))
    order, loops = _parents_first(mothers + without_row, fathers + without_row)
    problems += [_loop_words([names[place] for place in loop], row_of) for loop in loops]
    if problems:
        raise PedigreeError(problems)
    return _ordered(names, mothers + without_row, fathers + without_row, order, row_of)


def _parents_by_name(rows, first_row, repeated):
    parents: dict[str, tuple[str, str]] = {}
    row_of: dict[str, int] = {}
    problems = []
    for number, cells in enumerate(rows, start=first_row):
        name, mother, father = map(tree_name, cells)
        if not (name or mother or father):
            continue
        if name.casefold() in UNKNOWN_SPELLINGS:
            problems.append(f"Row {number}: “{name}” means an unknown tree and cannot name one. Give the tree a name.")
            continue
        pair = tuple("" if parent.casefold() in UNKNOWN_SPELLINGS else parent for parent in (mother, father))
        if name in pair:
            side = "mother" if name == pair[0] else "father"
            problems.append(f"Row {number}: “{name}” is its own {side}. Correct the name or leave the {side} empty.")
        elif name in parents and parents[name] == pair:
            repeated.append(f"Rows {row_of[name]} and {number}: “{name}” has the same row twice. It counts once.")
        elif parents.setdefault(name, pair) != pair:
            problems.append(f"Rows {row_of[name]} and {number}: “{name}” has two rows with different parents. Keep one of them.")
        row_of.setdefault(name, number)
    return parents, row_of, problems


def _parents_first(mothers, fathers):
    """Positions with parents before children, and the loops met on the way (each a list of positions, child to parent)."""
    order, loops, unseen, on_path, done = [], [], 0, 1, 2
    state = bytearray(len(mothers))
    for start in range(len(mothers)):
        path = [] if state[start] else [start]
        while path:
            tree = path[-1]
            state[tree] = on_path
            for parent in (mothers[tree], fathers[tree]):
                if parent == NO_PARENT or state[parent] == done:
                    continue
                if state[parent] == unseen:
                    path.append(parent)
                    break
                loop = path[path.index(parent) :]
                if len(loops) < _LOOPS_SHOWN and loop not in loops:
                    loops.append(loop)
            else:
                state[path.pop()] = done
                order.append(tree)
    return order, loops


def _loop_words(loop: list[str], row_of: Mapping[str, int]) -> str:
    links = ", ".join(f"“{parent}” is a parent of “{child}”" for child, parent in zip(loop, loop[1:] + loop[:1], strict=True))
    numbers = ", ".join(str(number) for number in sorted(row_of[name] for name in loop))
    return f"Rows {numbers}: {links}: so a tree is its own ancestor. Correct one of these rows."


def _ordered(names, mothers, fathers, order, row_of):
    moved = array("q", [0]) * len(order)
    for place, old in enumerate(order):
        moved[old] = place
    moved.append(NO_PARENT)  # position -1, the unknown parent, stays what it is
    new_mothers, new_fathers = (array("q", (moved[side[old]] for old in order)) for side in (mothers, fathers))
    depths = array("q", [0]) * len(order)
    depths.append(-1)
    for place, (mother, father) in enumerate(zip(new_mothers, new_fathers, strict=True)):
        depths[place] = 1 + max(depths[mother], depths[father])
    depths.pop()
    ordered = [names[old] for old in order]
    return Pedigree(ordered, new_mothers, new_fathers, depths, array("q", (row_of.get(name, 0) for name in ordered)))
