"""Reads names of taxa as people write them.

Source
------
Ranks, hybrid signs and hybrid formulas by the International Code of Nomenclature for algae, fungi, and plants, articles 4 and 23 and
chapter H (from memory).
"""

import re
import unicodedata
from dataclasses import dataclass, field, replace
from functools import lru_cache

_ANY_SPECIES = frozenset(("sp", "sp.", "spp", "spp.", "species", "cf", "cf.", "aff", "aff."))
HYBRID_WORDS = ("hybrid", "hybrids", "hybride", "hybrides")  # as people write “Juglans hybrid” where they know no more
_RANKS = frozenset(("subsp", "subsp.", "ssp", "ssp.", "var", "var.", "subvar", "subvar.", "forma", "fo.", "nothosubsp.", "nothovar."))
_FORMA = frozenset(("f", "f."))  # a form where an epithet follows, otherwise the son of an author
_IN_AUTHORS = frozenset(
    (
        "ex", "et", "in", "de", "des", "du", "la", "le", "von", "van", "der", "den", "di", "da", "non", "bis", "and", "y", "&", "hort",
        "hort.", "fil.", "nom.", "auct.", "sensu", "emend.",
    )
)  # fmt: skip
# “×Carylans (Carya × Juglans)”, not “Juglans nigra × (J. cinerea × J. regia)”
_WITH_FORMULA = re.compile(r"(?P<name>[^()=]*[^()=×\s])(?: \(|\(| = )(?P<formula>[^()=]+ × [^()=]+)\)?")
_EPITHET = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*")
HELP = "Write a genus (Juglans), a species (Juglans cinerea), a variety (Juglans cinerea var. alba) or a hybrid with the sign ×"


@dataclass(frozen=True, slots=True)
class Name:
    """A name taken apart, in small letters.

    Parameters
    ----------
    genus, species : str
        `species` “” for a genus as a whole.
    below : tuple of str
        Epithets of the subspecies, variety and form.
    is_hybrid : bool
        Written with the hybrid sign, or with the word “hybrid” behind its genus.
    parents : tuple of Name
        Those of a hybrid formula.
    is_formula : bool
        The name is only a formula; genus and species are then those of the first parent.
    is_hybrid_genus : bool
        The hybrid sign is before the genus: its parents are of different genera.
    is_worded : bool
        A genus with the word “hybrid” behind it, which says nothing of its species.
    """

    genus: str
    species: str = ""
    below: tuple[str, ...] = ()
    is_hybrid: bool = False
    parents: tuple["Name", ...] = ()
    is_formula: bool = field(default=False, repr=False)
    is_hybrid_genus: bool = field(default=False, repr=False)
    is_worded: bool = field(default=False, repr=False)


@dataclass(slots=True)
class _Part:
    words: list[str] = field(default_factory=list)
    is_hybrid: bool = False
    is_hybrid_genus: bool = False


@lru_cache(maxsize=4096)
def read_name(text: str) -> Name:
    """A name as written on a rule, a paper or a record, without its authors.

    Parameters
    ----------
    text : str

    Returns
    -------
    Name

    Raises
    ------
    ValueError
        When it is not a botanical name, or it is not clear what a word of it is.

    Examples
    --------
    >>> read_name("Juglans spp.") == read_name("Juglans L.") == Name("juglans")
    True
    >>> read_name("Juglans cinerea L. var. alba Hort."), read_name("Juglans × bixbyi").is_hybrid
    (Name(genus='juglans', species='cinerea', below=('alba',), is_hybrid=False, parents=()), True)
    >>> [parent.species for parent in read_name("Juglans ailantifolia × J. cinerea").parents]
    ['ailantifolia', 'cinerea']
    >>> [parent.genus for parent in read_name("×Carylans (Carya × Juglans)").parents]
    ['carya', 'juglans']
    >>> read_name("Juglans hybrid").is_hybrid, read_name("Juglans cinerea hybrid") == read_name("Juglans cinerea × Juglans")
    (True, True)
    """
    plain = _signs(text)
    if found := _WITH_FORMULA.fullmatch(plain):
        own = read_name(found["name"])
        formula = read_name(re.sub(rf"^(?:{own.genus[0].upper()}\. ?|(?=[a-z]))", f"{own.genus.capitalize()} ", found["formula"]))
        return replace(own, is_hybrid=True, parents=formula.parents, is_hybrid_genus=own.is_hybrid_genus or _is_of_genera(own, formula))
    parts = _parts(plain)
    names: list[Name] = []
    for part in parts:
        names.append(_plain(part, names[-1].genus if names else "", text))
    if len(names) == 1:
        return names[0]
    every = {parent for name in names for parent in name.parents or (name,)}
    parents = tuple(sorted(every, key=lambda name: (name.genus, name.species, name.below)))
    return Name(names[0].genus, names[0].species, is_hybrid=True, parents=parents, is_formula=True)


def _is_of_genera(own: Name, formula: Name) -> bool:
    """Whether the formula of a name is of other genera than its own, so that the name is that of a hybrid genus."""
    return own.genus not in {parent.genus for parent in formula.parents}


def _signs(text: str) -> str:
    """The text with each hybrid sign as a word of its own, also where it is typed as the letter x."""
    plain = re.sub(r"\b[xX](?=[A-Z][a-z])", "×", unicodedata.normalize("NFC", text)).replace("×", " × ")
    plain = re.sub(r"‘[^’]*’|'[^']*'|\"[^\"]*\"", " ", plain)  # a cultivar of a species is of that species
    return " ".join(re.sub(r"(?<![^\s(])[xX](?![^\s)])", "×", plain).split())


def _parts(plain: str) -> list[_Part]:
    """The names of a formula, one for any other name; a hybrid sign before an epithet or a genus belongs to that name."""
    words = plain.replace("(", " ").replace(")", " ").split()
    if words and (" ".join(words).isupper() or not words[0][:1].isupper() and words[0] != "×"):
        words = [words[0].capitalize(), *(word.lower() for word in words[1:])]  # typed in one case, which then says nothing
    parts = [_Part()]
    for place, word in enumerate(words):
        if word != "×":
            parts[-1].words.append(word)
            continue
        following = words[place + 1] if place + 1 < len(words) else ""
        if not parts[-1].words or (len(parts[-1].words) == 1 and following.islower()):
            parts[-1].is_hybrid = True
            parts[-1].is_hybrid_genus |= not parts[-1].words
        else:
            parts.append(_Part())
    return parts


def _plain(part: _Part, last_genus: str, text: str) -> Name:
    words = list(part.words)
    if last_genus and words and words[0].islower():
        words.insert(0, last_genus.capitalize())
    elif last_genus and words and re.fullmatch(r"[A-Z]\.?", words[0]) and last_genus.startswith(words[0][0].lower()):
        words[0] = last_genus.capitalize()
    if not words or not _EPITHET.fullmatch(words[0]) or len(words[0]) < 2:
        raise ValueError(f"“{text}” is not a name of a taxon. {HELP}.")
    genus, rest = words[0].lower(), words[1:]
    whole = Name(genus, is_hybrid=part.is_hybrid, is_hybrid_genus=part.is_hybrid_genus)
    is_said = [word for word in rest if word.lower() in HYBRID_WORDS]
    if is_said and (species := [word for word in rest if word not in is_said and word.lower() not in _ANY_SPECIES]):
        known = _plain(_Part([words[0], *species]), "", text)  # the other parent is of its genus, as far as can be told
        if known.species:
            return Name(genus, known.species, is_hybrid=True, parents=(Name(genus), known), is_formula=True)
    if is_said:
        return replace(whole, is_hybrid=True, is_worded=True)
    if not rest or rest[0].lower() in _ANY_SPECIES:
        return whole
    if not rest[0].islower() or not _EPITHET.fullmatch(rest[0]):
        _refuse_unless_author(rest, text)
        return whole
    return replace(whole, species=rest[0], below=_below(rest[1:], text))


def _refuse_unless_author(words: list[str], text: str) -> None:
    """After a genus, “Cinerea” may be the species or an author; only what is plainly an author is left out."""
    if not all(word.endswith((".", ",")) or word.lower() in _IN_AUTHORS for word in words):
        raise ValueError(f"“{text}”: it is not clear whether “{words[0]}” is a species or an author. Write species in small letters.")


def _below(words: list[str], text: str) -> tuple[str, ...]:
    """The epithets below the species; what is left is authors."""
    found: list[str] = []
    is_next, may_be_bare = False, True
    for place, word in enumerate(words):
        following = words[place + 1] if place + 1 < len(words) else ""
        is_epithet = word.islower() and _EPITHET.fullmatch(word) is not None
        if is_next:
            if not is_epithet:
                raise ValueError(f"“{text}”: no name follows “{words[place - 1]}”. {HELP}.")
            found.append(word)
            is_next = False
        elif word in _RANKS or (word in _FORMA and following.islower() and following not in _IN_AUTHORS and following not in _RANKS):
            is_next = True
        elif word in _IN_AUTHORS or word in _FORMA or not word.islower():
            pass
        elif is_epithet and may_be_bare:
            found.append(word)
        else:
            raise ValueError(f"“{text}”: “{word}” cannot be read as a part of the name. {HELP}.")
        may_be_bare = False
    if is_next:
        raise ValueError(f"“{text}”: no name follows “{words[-1]}”. {HELP}.")
    return tuple(sorted(found))


def bare_epithets(text: str) -> list[str]:
    """The epithets of a formula that have no genus of their own and another sign behind them, so that the next is taken for a variety.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> bare_epithets("Juglans regia × (cinerea × ailantifolia)"), bare_epithets("Juglans cinerea × ailantifolia")
    (['cinerea'], [])
    >>> bare_epithets("Juglans ×bixbyi × J. cinerea")
    []
    """
    parts = _parts(_signs(text))[1:]
    return [part.words[0] for part in parts if part.is_hybrid and part.words and part.words[0].islower()]


def is_family(text: str) -> bool:
    """Whether a name is that of a family or of an order: no taxon on file has one, so a rule that names it would be silent.

    Source
    ------
    International Code of Nomenclature for algae, fungi, and plants, articles 17 and 18: the endings (from memory).

    Examples
    --------
    >>> is_family("Juglandaceae"), is_family("fagales"), is_family("Juglans")
    (True, True, False)
    """
    return re.fullmatch(r"\w+(?:aceae|ales)", text.strip(), re.IGNORECASE) is not None
