"""Compares names of taxa with lists of taxa."""

from collections.abc import Iterable
from functools import lru_cache


@lru_cache(maxsize=4096)
def taxon_key(name: str) -> str:
    """A name as it is compared: one blank between words, small letters, the hybrid sign left out.

    Source
    ------
    Definition of this programme; the hybrid sign by the International Code of Nomenclature, chapter H (from memory).

    Examples
    --------
    >>> taxon_key("Juglans  ×bixbyi"), taxon_key("Juglans x bixbyi")
    ('juglans bixbyi', 'juglans bixbyi')
    """
    words = name.replace("×", " ").split()
    return " ".join(word for word in words if word != "x").casefold()


def taxon_in(name: str, listed: Iterable[str]) -> bool:
    """Whether a taxon is in a list; a listed name of one word is a genus and takes in all of its species.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> taxon_in("Juglans cinerea", ["Juglans"]), taxon_in("Juglans cinerea", ["Juglans nigra"])
    (True, False)
    """
    key = taxon_key(name)
    genus = key.partition(" ")[0]
    return any(entry in (key, genus) for entry in map(taxon_key, listed))
