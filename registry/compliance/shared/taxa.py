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
    >>> named(["Juglans"], ["×Carylans (Carya × Juglans)"]) == YES, named(["Juglans"], ["×Carylans"]) == UNKNOWN
    (True, True)
    """
    return _named(tuple(listed), tuple(taxa), tuple(parents))


def has_unknown_genera(taxon: str, parents: Iterable[str] = ()) -> bool:
    """Whether a taxon is a hybrid genus whose parents nobody stated, so that it may be of any genus.

    Examples
    --------
    >>> has_unknown_genera("×Carylans"), has_unknown_genera("×Carylans (Carya × Juglans)"), has_unknown_genera("Juglans ×bixbyi")
    (True, False, False)
    """
    name = _read(taxon)
    return name is not None and name.is_hybrid_genus and not _parents(name, tuple(parents))


def unknown_parent(taxon: str) -> str:
    """What a parent of a hybrid may be when it is not on file: the genus, or what the name of the hybrid says of its parents.

    Examples
    --------
    >>> unknown_parent("Juglans ×bixbyi"), unknown_parent("×Carylans pekan"), unknown_parent("×Carylans (Carya × Juglans)")
    ('Juglans', '× Carylans', '×Carylans (Carya × Juglans)')
    """
    name = _read(taxon)
    if name is not None and name.is_hybrid_genus:
        return taxon if name.parents else f"× {name.genus.capitalize()}"
    return taxon_genus(taxon).capitalize()


@lru_cache(maxsize=16_384)
def _named(listed: tuple[str, ...], taxa: tuple[str, ...], parents: tuple[str, ...]) -> int:
    return max((_takes_in(one, taxon, parents, len(taxa) == 1) for one in listed for taxon in taxa), default=NO)


def _takes_in(listed: str, taxon: str, parents: tuple[str, ...], is_alone: bool) -> int:
    if name_key(listed) == name_key(taxon):
        return YES
    wanted, name = _read(listed), _read(taxon)
    if wanted is None:
        return UNKNOWN
    if name is None:
        return YES if not wanted.species and wanted.genus == taxon_genus(taxon) else NO
    known = _parents(name, parents, is_alone)
    of_formula = _is_formula(wanted, name, known) if wanted.parents else NO
    if wanted.is_formula:
        return of_formula
    names = known if known and wanted.species and name.is_worded else (name, *known)  # its parents say more than such a name
    found = max(of_formula, *(inside(wanted, one) for one in names))
    unsure = known if known and not name.is_formula else (name, *known)
    return found if found != NO else max(_may_be(wanted, one) for one in unsure)


def _may_be(wanted: Name, name: Name) -> int:
    """Whether a hybrid whose parents nobody stated may descend from what is wanted."""
    if wanted.is_hybrid_genus and not wanted.parents and name.is_formula and len({parent.genus for parent in name.parents}) > 1:
        return UNKNOWN  # a formula of two genera may be that of any hybrid genus
    if not name.is_hybrid or name.parents:
        return NO
    return UNKNOWN if name.is_hybrid_genus or (wanted.species and wanted.genus == name.genus) else NO


def _parents(name: Name, parents: tuple[str, ...], is_alone: bool = False) -> tuple[Name, ...]:
    """Those in the name and those stated; of several taxa the hybrids alone have parents."""
    if not name.is_hybrid and not is_alone:
        return ()
    stated = filter(None, map(_read, parents))
    return (*name.parents, *(parent for one in stated for parent in one.parents or (one,)))


def _is_formula(wanted: Name, name: Name, known: tuple[Name, ...]) -> int:
    """A lot is a hybrid formula when its parents are those of the formula and no others; a hybrid without parents may be."""
    if known:
        each_known = (max(_is_parent(parent, one) for parent in wanted.parents) for one in known)
        each_wanted = (max(_is_parent(parent, one) for one in known) for parent in wanted.parents)
        return min(*each_known, *each_wanted)
    if name.is_hybrid_genus:
        return UNKNOWN
    genera = {parent.genus for parent in wanted.parents}
    return UNKNOWN if name.genus in genera and (name.is_hybrid or not name.species) else NO


def _is_parent(wanted: Name, name: Name) -> int:
    """Whether a parent is the one of a formula, which may name a genus."""
    if name.genus == wanted.genus:
        if not wanted.species or name.species == wanted.species:
            return YES
        return UNKNOWN if not name.species or name.is_hybrid else NO
    return UNKNOWN if name.is_hybrid_genus else NO


def inside(wanted: Name, name: Name) -> int:
    """Whether a name is part of another that is not a formula.

    Returns
    -------
    int
        YES, NO, or UNKNOWN where it is less exact than the other.

    Examples
    --------
    >>> inside(read_name("Juglans"), read_name("Juglans nigra")) == YES, inside(read_name("Juglans nigra"), read_name("Juglans")) == UNKNOWN
    (True, True)
    """
    if name.genus != wanted.genus:
        return NO
    if not wanted.species:
        return YES
    if not name.species:
        return UNKNOWN
    if name.species != wanted.species or name.is_formula:
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
    if name_key(listed) == name_key(taxon):
        return True
    wanted, name = _read(listed), _read(taxon)
    if wanted is None or name is None:
        return False
    if wanted.parents and _is_formula(wanted, name, _parents(name, parents)) == YES:
        return True
    if wanted.is_formula:
        return False
    if name.is_formula:
        return not wanted.species and all(parent.genus == wanted.genus for parent in name.parents)
    return inside(wanted, name) == YES


def taxon_genus(text: str) -> str:
    """The first word of a name in small letters, which is its genus as far as can be told without reading the rest.

    Examples
    --------
    >>> taxon_genus("× Sorbaronia mitschurinii")
    'sorbaronia'
    """
    return name_key(text).partition(" ")[0]


@lru_cache(maxsize=4096)
def name_key(name: str) -> str:
    """A name as it is compared letter by letter: one blank between words, small letters, the hybrid sign left out.

    Examples
    --------
    >>> name_key("Juglans  × Bixbyi")
    'juglans bixbyi'
    """
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
    key = name_key(name)
    genus = key.partition(" ")[0]
    return any(entry in (key, genus) for entry in map(name_key, listed))
