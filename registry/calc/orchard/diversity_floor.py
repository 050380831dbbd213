"""What roguing would leave: mothers of each line and source, and the status number, against the programme's floors."""

from array import array
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from registry.calc.pedigree.ancestry import only_ancestors
from registry.calc.pedigree.inbreeding import inbreeding
from registry.calc.pedigree.pedigree import NO_PARENT, Pedigree
from registry.calc.shared.screen import unit_words


@dataclass(frozen=True, slots=True)
class Mother:
    """A standing tree of an orchard, with the recurrent lines and the sources of resistance it carries (none where none is known)."""

    name: str
    lines: frozenset[str] = frozenset()
    sources: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Floors:
    """The programme's own thresholds: fewest mothers of a line and of a source, lowest status number."""

    mothers_per_line: int
    mothers_per_source: int
    status_number: float


@dataclass(frozen=True, slots=True)
class FloorBreach:
    """A floor that would be broken. `kind` is "line", "source" or "status number"; `name` is empty for the last."""

    kind: str
    name: str
    left: float
    floor: float

    @property
    def words(self) -> str:
        if self.kind == "status number":
            return f"The status number of the orchard would be {self.left:.1f}; the floor is {self.floor:g}."
        kind = {"line": "recurrent line", "source": "source of resistance"}[self.kind]
        mothers = unit_words(self.left, "mothers")
        return f"{self.left} standing {mothers} of the {kind} {self.name} would be left; the floor is {self.floor:g}."


def floor_breaches(
    mothers: Iterable[Mother], gone: Iterable[str], rogued: str, floors: Floors, status_number_left: float | None
) -> list[FloorBreach]:
    """The floors that roguing one tree would break.

    Parameters
    ----------
    mothers : iterable of Mother
        The standing mothers of the orchard, `rogued` among them.
    gone : iterable of str
        Names of those still standing whose roguing is already decided.
    rogued : str
        Name of the tree in question.
    floors : Floors
    status_number_left : float or None
        Of the mothers that would be left; 0 when none would; None when it is not known, which breaks nothing.

    Returns
    -------
    list of FloorBreach
        Only of the lines and sources the tree itself carries, then of the status number. A floor is broken below it, not at it.

    Raises
    ------
    ValueError
        When the tree is not among the mothers.

    Source
    ------
    Definition of this programme: the floors are its own settings. That roguing needs such floors is common practice, no source.

    Examples
    --------
    >>> trees = [Mother("a", frozenset(["L1"])), Mother("b", frozenset(["L1"]))]
    >>> [breach.words for breach in floor_breaches(trees, [], "a", Floors(2, 5, 4), 5.0)]
    ['1 standing mother of the recurrent line L1 would be left; the floor is 2.']
    """
    mothers = list(mothers)
    tree = next((mother for mother in mothers if mother.name == rogued), None)
    if tree is None:
        raise ValueError(f"“{rogued}” is not among the standing mothers.")
    without = {*gone, rogued}
    left = [mother for mother in mothers if mother.name not in without]
    counted = [("line", name, sum(name in mother.lines for mother in left), floors.mothers_per_line) for name in sorted(tree.lines)]
    counted += [
        ("source", name, sum(name in mother.sources for mother in left), floors.mothers_per_source) for name in sorted(tree.sources)
    ]
    if status_number_left is not None:
        counted.append(("status number", "", status_number_left, floors.status_number))
    return [FloorBreach(*count) for count in counted if count[2] < count[3]]


def coancestry_of_genes(pedigree: Pedigree, genes: Mapping[str, float]) -> float:
    """Chance that two genes drawn from a pool are copies of one gene of the founders, in time linear in the pedigree.

    Parameters
    ----------
    pedigree : Pedigree
    genes : mapping of tree to its share of the pool, 0 to 1
        What is missing to 1 is of trees that are related to nothing and to one another.

    Returns
    -------
    float, 0 to 1

    Raises
    ------
    ValueError
        When a name is not in the pedigree.

    Notes
    -----
    The matrix of coancestry is never made: with A = TDT', the sum over all pairs is sum of d_i times the square of what tree i passes
    on to the group, found by one walk from children to parents.

    Source
    ------
    Lindgren, Gea & Jefferson 1997, Forest Genetics 4:69-76, for the number; Meuwissen & Luo 1992, Genet. Sel. Evol. 24:305-313, for
    A = TDT'.

    Examples
    --------
    >>> from registry.calc.pedigree.pedigree import read_pedigree
    >>> coancestry_of_genes(read_pedigree([("c", "a", "b")]), {"a": 0.5, "b": 0.5})
    0.25
    """
    cut = only_ancestors(pedigree, genes)
    passed = array("d", bytes(8 * (len(cut) + 1)))  # the last place takes what unknown parents would pass on
    for name, share in genes.items():
        passed[cut.position(name)] += share
    for tree in range(len(cut) - 1, -1, -1):
        half = passed[tree] / 2
        passed[cut.mothers[tree]] += half
        passed[cut.fathers[tree]] += half
    weights = np.array(passed)[:-1]
    return float(np.sum(weights**2 * _own_variances(cut)) / 2)


def _own_variances(pedigree):
    """The diagonal of D: the part of a tree's variance that its parents do not settle."""
    coefficients = np.append(inbreeding(pedigree), 0.0)
    mothers, fathers = (np.frombuffer(side, dtype=np.int64) for side in (pedigree.mothers, pedigree.fathers))
    known = (mothers != NO_PARENT).astype(float) + (fathers != NO_PARENT)
    return 1 - known / 4 - (coefficients[mothers] + coefficients[fathers]) / 4
