"""Compares what a rule or a paper names with what a lot is.

Source
------
That the unknown counts for a rule and against a paper is a definition of this programme; what a name takes in, as of `read_name`.
"""

from collections.abc import Iterable
from functools import lru_cache

from registry.compliance.gate.places import NO, UNKNOWN, YES
from registry.compliance.shared.taxon_names import Name, read_name


def _read(text: str) -> Name | None:
    try:
        return read_name(text)
    except ValueError:
        return None


def is_hybrid(text: str) -> bool:
    """Whether a name is written as that of a hybrid.

    Examples
    --------
    >>> is_hybrid("Juglans ×bixbyi"), is_hybrid("Juglans cinerea")
    (True, False)
    """
    name = _read(text)
    return name is not None and name.is_hybrid


def named(listed: Iterable[str], taxa: Iterable[str], parents: Iterable[str] = ()) -> int:
    """Whether a list of a rule takes in what a lot is.

    Parameters
    ----------
    listed : iterable of str
        Names on the rule. A genus takes in all of its species, a species what is below it, either also the hybrids of it.
    taxa : iterable of str
        Names of the lot.
    parents : iterable of str
        Species a hybrid among them descends from, as far as they are known.

    Returns
    -------
    int
        YES, NO, or UNKNOWN where the lot is named less exactly than the rule, its parents are not known, or a name on the rule cannot be
        read.

    Examples
    --------
    >>> named(["Juglans cinerea"], ["Juglans ×bixbyi"], ["Juglans cinerea"]) == YES
    True
    >>> named(["Juglans cinerea"], ["Juglans ×bixbyi"]) == named(["Juglans cinerea"], ["Juglans"]) == UNKNOWN
    True
    >>> named(["Juglans nigra", "Carya"], ["Juglans cinerea L."]) == NO
    True
    """
    return _named(tuple(listed), tuple(taxa), tuple(parents))


@lru_cache(maxsize=16_384)
def _named(listed: tuple[str, ...], taxa: tuple[str, ...], parents: tuple[str, ...]) -> int:
    return max((_takes_in(one, taxon, parents) for one in listed for taxon in taxa), default=NO)


def _takes_in(listed: str, taxon: str, parents: tuple[str, ...]) -> int:
    if _key(listed) == _key(taxon):
        return YES
    wanted, name = _read(listed), _read(taxon)
    if wanted is None:
        return UNKNOWN
    if name is None:
        return YES if not wanted.species and wanted.genus == taxon_genus(taxon) else NO
    known = _parents(name, parents)
    if wanted.parents:
        return _is_formula(wanted, name, known)
    found = max(map(_inside, [wanted] * (1 + len(known)), [name, *known]))
    if found == NO and name.is_hybrid and not known and wanted.species and wanted.genus == name.genus:
        return UNKNOWN  # a hybrid whose parents nobody stated
    return found


def _parents(name: Name, parents: tuple[str, ...]) -> tuple[Name, ...]:
    if not name.is_hybrid:
        return ()
    stated = filter(None, map(_read, parents))
    return (*name.parents, *(parent for one in stated for parent in one.parents or (one,)))


def _is_formula(wanted: Name, name: Name, known: tuple[Name, ...]) -> int:
    """A lot is a hybrid formula when its parents are exactly those of the formula; a hybrid of the genus without parents may be."""
    if known:
        return YES if _species(known) == _species(wanted.parents) else NO
    genera = {parent.genus for parent in wanted.parents}
    return UNKNOWN if name.genus in genera and (name.is_hybrid or not name.species) else NO


def _species(names: Iterable[Name]) -> frozenset[tuple[str, str]]:
    return frozenset((name.genus, name.species) for name in names)


def _inside(wanted: Name, name: Name) -> int:
    """Whether a name is part of another that is not a formula."""
    if name.genus != wanted.genus:
        return NO
    if not wanted.species:
        return YES
    if not name.species:
        return UNKNOWN
    if name.species != wanted.species or name.parents:
        return NO
    if set(wanted.below) <= set(name.below):
        return YES
    return NO if name.below else UNKNOWN


def covered(taxon: str, listed: Iterable[str], parents: Iterable[str] = ()) -> bool:
    """Whether a paper limited to some taxa covers all of what a taxon is.

    A paper for a species covers what is below it, and not its hybrids; one for a genus covers all of the genus.

    Examples
    --------
    >>> covered("Juglans cinerea var. alba", ["Juglans cinerea"]), covered("Juglans ×bixbyi", ["Juglans cinerea"])
    (True, False)
    >>> covered("Juglans ×bixbyi", ["Juglans L."]), covered("Juglans", ["Juglans cinerea"])
    (True, False)
    """
    return any(_covers(one, taxon, tuple(parents)) for one in listed)


@lru_cache(maxsize=16_384)
def _covers(listed: str, taxon: str, parents: tuple[str, ...]) -> bool:
    if _key(listed) == _key(taxon):
        return True
    wanted, name = _read(listed), _read(taxon)
    if wanted is None or name is None:
        return False
    if wanted.parents:
        return _is_formula(wanted, name, _parents(name, parents)) == YES
    if name.parents:
        return not wanted.species and all(parent.genus == wanted.genus for parent in name.parents)
    return _inside(wanted, name) == YES


def taxon_genus(text: str) -> str:
    """The first word of a name in small letters, which is its genus as far as can be told without reading the rest.

    Examples
    --------
    >>> taxon_genus("× Sorbaronia mitschurinii")
    'sorbaronia'
    """
    return _key(text).partition(" ")[0]


@lru_cache(maxsize=4096)
def _key(name: str) -> str:
    """One blank between words, small letters, the hybrid sign left out."""
    words = name.replace("×", " ").split()
    return " ".join(word for word in words if word != "x").casefold()


def taxon_in(name: str, listed: Iterable[str]) -> bool:
    """How editions before 4 compared a name with a list: letter by letter, or by the genus alone. Their answers repeat with it.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> taxon_in("Juglans cinerea", ["Juglans"]), taxon_in("Juglans cinerea", ["Juglans nigra"])
    (True, False)
    """
    key = _key(name)
    genus = key.partition(" ")[0]
    return any(entry in (key, genus) for entry in map(_key, listed))
