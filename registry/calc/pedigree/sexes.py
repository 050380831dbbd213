"""The sex column of a pedigree sheet, for species with separate sexes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from registry.calc.pedigree.pedigree import NO_PARENT, Pedigree, is_unknown, tree_name

_MALE, _FEMALE = "male", "female"
_SEXES = {
    **dict.fromkeys(("m", "male", "♂"), _MALE),
    **dict.fromkeys(("f", "female", "♀"), _FEMALE),
    **dict.fromkeys(("b", "both", "monoecious", "hermaphrodite", "h"), ""),
}
# 1 male, 2 female, 0 not known: PLINK files and their kin; 0 and 1 alone: which is which differs between programs
_NUMBERED = {"1": _MALE, "2": _FEMALE}


@dataclass(frozen=True, slots=True)
class Sexes:
    """What a sex column says of each tree, and what in it cannot be read."""

    of: dict[str, str]
    problems: tuple[str, ...]

    def contradictions(self, pedigree: Pedigree) -> Iterator[str]:
        """A sentence for each tree that is a parent of the other sex than its row says."""
        for side, sex, role in ((pedigree.mothers, _MALE, "mother"), (pedigree.fathers, _FEMALE, "father")):
            for place in sorted(set(side) - {NO_PARENT}):
                name = pedigree.names[place]
                if self.of.get(name) == sex:
                    child = pedigree.names[side.index(place)]
                    yield f"“{name}” is {sex} by its row {pedigree.rows[place]}, and the {role} of “{child}”. Check both rows."


def read_sexes(header: str, cells: Iterable[tuple[object, object]], first_row: int = 1) -> Sexes:
    """Read a sex column: M and F, words, or 1 for male and 2 for female. Blank or unknown says nothing.

    Parameters
    ----------
    header : str
        Of the column, for messages.
    cells : iterable of (name of the tree, cell)
    first_row : int
        Number of the first row, for messages.

    Returns
    -------
    Sexes
        A column of 0 and 1 without a 2 is not read, because programs differ in which of them is male; `problems` says so, as it does
        for a cell that is no sex.

    Source
    ------
    Common practice of pedigree files, no source.

    Examples
    --------
    >>> read_sexes("sex", [("a", "F"), ("b", 1), ("c", "2"), ("d", "")]).of
    {'a': 'female', 'b': 'male', 'c': 'female'}
    """
    said = [(number, tree_name(name), tree_name(cell).casefold()) for number, (name, cell) in enumerate(cells, start=first_row)]
    values = {cell for _, _, cell in said}
    if "0" in values and "1" in values and "2" not in values:
        words = f"Column '{header}' has 0 and 1 but no 2, so it is not clear which is male. Write M and F; it is not used."
        return Sexes({}, (words,))
    found, problems = {}, []
    for number, name, cell in said:
        sex = _SEXES.get(cell, _NUMBERED.get(cell))
        if sex:
            found[name] = sex
        elif sex is None and not is_unknown(cell):
            problems.append(f"Row {number}, column '{header}': “{cell}” is not a sex. Write M, F, or 1 for male and 2 for female.")
    return Sexes(found, tuple(problems))
