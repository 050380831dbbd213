"""Whether two names are one person's or one body's, however they are written.

Source
------
Definition of this programme for all functions here.
"""

import re
from functools import lru_cache
from unicodedata import combining, normalize

_TITLES = frozenset(("dr", "mr", "mrs", "ms", "miss", "mx", "prof", "professor", "sir", "rev", "jr", "sr"))
_SMALL = frozenset(("the", "of", "and", "for"))
_APART = re.compile(r"[,;/&+]|\b(?:and|et)\b", re.IGNORECASE)
_FOLDED = str.maketrans({"ø": "o", "ł": "l", "ß": "ss", "æ": "ae", "œ": "oe", "đ": "d", "ð": "d", "þ": "th"})


@lru_cache(maxsize=4096)
def _words(name: str) -> tuple[str, ...]:
    """The words of a name in small letters without accents and points; initials written together are taken apart."""
    folded = normalize("NFKD", normalize("NFKC", name).casefold().translate(_FOLDED))
    plain = "".join(letter if letter.isalnum() else "" if combining(letter) or letter in "'’`" else " " for letter in folded)
    words = []
    for word, written in zip(plain.split(), _written(name, plain), strict=False):
        words += list(word) if written else [word]
    return tuple(words)


def _written(name: str, plain: str) -> list[bool]:
    """For each word whether it is two or three initials written together, such as AB in “AB Person”."""
    shown = normalize("NFKC", name)
    bare = "".join(letter if letter.isalnum() or letter in "'’`" else " " for letter in shown).split()
    is_shouted = shown.isupper()
    return [not is_shouted and word.isupper() and 1 < len(word) <= 3 for word in bare] + [False] * len(plain.split())


def _parts(name: str) -> tuple[str, ...]:
    words = tuple(word for word in _words(name) if word not in _TITLES)
    return words or _words(name)


def is_same_name(one: str, other: str) -> bool:
    """Whether two names are written alike but for capitals, blanks, points, accents, titles and the order of their words.

    Parameters
    ----------
    one, other : str

    Examples
    --------
    >>> is_same_name("Ada  Møller", "MOLLER, Ada"), is_same_name("Dr. Ada Person", "Ada Person"), is_same_name("A. Person", "Ada Person")
    (True, True, False)
    """
    first, second = sorted(_parts(one)), sorted(_parts(other))
    return bool(first) and first == second


def is_written_alike(one: str, other: str) -> bool:
    """Whether two names are the same letters in the same order but for capitals and blanks; a blank name is like no other.

    Parameters
    ----------
    one, other : str

    Examples
    --------
    >>> is_written_alike(" mia  Walker", "Mia Walker"), is_written_alike("Walker, Mia", "Mia Walker"), is_written_alike(" ", "")
    (True, False, False)
    """
    first, second = (normalize("NFC", name).lower().split() for name in (one, other))
    return bool(first) and first == second


def may_be_same_person(one: str, other: str) -> bool:
    """Whether two names can be two spellings of one person's: an initial can be any name that begins with it, and a middle name may be
    left out. A single word can be a part of any name that has it.

    Parameters
    ----------
    one, other : str

    Examples
    --------
    >>> may_be_same_person("A. Person", "Ada B. Person"), may_be_same_person("AB Person", "Person, Ada Berit")
    (True, True)
    >>> may_be_same_person("Ada Person", "Ben Person"), may_be_same_person("A. Person", "A. Other")
    (False, False)
    """
    first, second = sorted((_parts(one), _parts(other)), key=len)
    if not first or not any(len(word) > 1 and word in second for word in first):
        return False
    return _fits(list(first), list(second))


def _fits(words: list[str], others: list[str]) -> bool:
    """Whether each word can be paired with another of the longer name."""
    if not words:
        return True
    return any(_alike(words[0], other) and _fits(words[1:], others[:place] + others[place + 1 :]) for place, other in enumerate(others))


def _alike(one: str, other: str) -> bool:
    return one == other or (min(len(one), len(other)) == 1 and one[0] == other[0])


def is_same_body(one: str, other: str) -> bool:
    """Whether two names of bodies are written alike but for capitals, points, accents and small words.

    Parameters
    ----------
    one, other : str

    Examples
    --------
    >>> is_same_body("The Example Nursery of Vermont", "example nursery, Vermont"), is_same_body("Example Nursery", "Example Orchard")
    (True, False)
    """
    first, second = ([word for word in _words(name) if word not in _SMALL] for name in (one, other))
    return bool(first) and first == second


def listed_people(text: str) -> tuple[str, ...]:
    """The names in a text that names one person or several.

    Parameters
    ----------
    text : str
        Names apart by commas, semicolons, slashes, a plus, “&”, “and” or “et”. A name written "Person, Ada" gives two parts; each of them
        may still be the same person as "Ada Person".

    Examples
    --------
    >>> listed_people("A. Counter, Ben Other and C. Third"), listed_people(" ")
    (('A. Counter', 'Ben Other', 'C. Third'), ())
    """
    return tuple(name.strip() for name in _APART.split(text) if name.strip())


def share_a_person(one: str, other: str) -> bool:
    """Whether two texts, each naming one person or several, may name the same person.

    Parameters
    ----------
    one, other : str
        As `listed_people` takes them.

    Examples
    --------
    >>> share_a_person("A. Counter & B. Other", "Ada Counter"), share_a_person("A. Counter", "B. Other")
    (True, False)
    """
    return any(may_be_same_person(name, second) for name in listed_people(one) for second in listed_people(other))
