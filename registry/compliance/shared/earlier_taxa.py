"""How editions before this one of the gate compared names of taxa. Their answers repeat with it.

Up to edition 5 a hybrid genus had no other genera than its own, and a name with its formula behind it could not be read. Up to edition
6 the word “hybrid” was an epithet like any other.

Source
------
Definition of this programme, for all functions here.
"""

import re
from collections.abc import Iterable

from registry.compliance.gate.places import NO, UNKNOWN, YES
from registry.compliance.shared.taxa import inside, name_key, taxon_genus
from registry.compliance.shared.taxon_names import HYBRID_WORDS, Name, read_name

_HYBRID_WORD = re.compile(rf"\b(?:{'|'.join(HYBRID_WORDS)})\b", re.IGNORECASE)


def as_epithet(name: str) -> str:
    """Change the words for a hybrid in a name, so that they are read as an epithet. Editions up to 6 read them so.

    Examples
    --------
    >>> as_epithet("Juglans hybrid"), as_epithet("Juglans ×bixbyi")
    ('Juglans hybridq', 'Juglans ×bixbyi')
    """
    return _HYBRID_WORD.sub(r"\g<0>q", name)


def as_epithets(names: Iterable[str]) -> tuple[str, ...]:
    """The same of several names.

    Examples
    --------
    >>> as_epithets(["Juglans hybrid"])
    ('Juglans hybridq',)
    """
    return tuple(map(as_epithet, names))


def named_before_6(listed: Iterable[str], taxa: Iterable[str], parents: Iterable[str]) -> int:
    """As `taxa.named`, up to edition 5.

    Returns
    -------
    int
        YES, NO or UNKNOWN.

    Examples
    --------
    >>> named_before_6(["Juglans"], ["×Carylans"], []) == NO, named_before_6(["Juglans"], ["Juglans ×bixbyi"], []) == YES
    (True, True)
    """
    return max((_takes_in(one, taxon, tuple(parents)) for one in listed for taxon in taxa), default=NO)


def covered_before_6(taxon: str, listed: Iterable[str], parents: Iterable[str]) -> bool:
    """As `taxa.covered`, up to edition 5.

    Examples
    --------
    >>> covered_before_6("Carya ovata × Juglans nigra", ["Carya × Juglans"], []), covered_before_6("Juglans nigra", ["Juglans"], [])
    (False, True)
    """
    return any(_covers(one, taxon, tuple(parents)) for one in listed)


def _read(text: str) -> Name | None:
    try:
        name = read_name(text)
    except ValueError:
        return None
    return None if name.parents and not name.is_formula else name


def _takes_in(listed: str, taxon: str, parents: tuple[str, ...]) -> int:
    if name_key(listed) == name_key(taxon):
        return YES
    wanted, name = _read(listed), _read(taxon)
    if wanted is None:
        return UNKNOWN
    if name is None:
        return YES if not wanted.species and wanted.genus == taxon_genus(taxon) else NO
    known = _parents(name, parents)
    if wanted.parents:
        return _is_formula(wanted, name, known)
    found = max(map(inside, [wanted] * (1 + len(known)), [name, *known]))
    if found == NO and name.is_hybrid and not known and wanted.species and wanted.genus == name.genus:
        return UNKNOWN
    return found


def _covers(listed: str, taxon: str, parents: tuple[str, ...]) -> bool:
    if name_key(listed) == name_key(taxon):
        return True
    wanted, name = _read(listed), _read(taxon)
    if wanted is None or name is None:
        return False
    if wanted.parents:
        return _is_formula(wanted, name, _parents(name, parents)) == YES
    if name.parents:
        return not wanted.species and all(parent.genus == wanted.genus for parent in name.parents)
    return inside(wanted, name) == YES


def _parents(name: Name, parents: tuple[str, ...]) -> tuple[Name, ...]:
    if not name.is_hybrid:
        return ()
    stated = filter(None, map(_read, parents))
    return (*name.parents, *(parent for one in stated for parent in one.parents or (one,)))


def _is_formula(wanted: Name, name: Name, known: tuple[Name, ...]) -> int:
    if known:
        return YES if _species(known) == _species(wanted.parents) else NO
    genera = {parent.genus for parent in wanted.parents}
    return UNKNOWN if name.genus in genera and (name.is_hybrid or not name.species) else NO


def _species(names: Iterable[Name]) -> frozenset[tuple[str, str]]:
    return frozenset((name.genus, name.species) for name in names)
