"""Generation codes of the backcross pipeline: two integers in, one printed code out."""

import re
import unicodedata
from contextlib import suppress
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction

EXAMPLES = "B3F3, BC3F3, B3-F3, B3, F1, F2, native or donor"
NAMED = ("native", "donor")
_GAP = r"[\s_.\-‐‑–—]*"
_BACKCROSS = re.compile(rf"B{_GAP}C?{_GAP}([1-9][0-9]?)(?:{_GAP}F{_GAP}([1-9][0-9]?))?", re.IGNORECASE)
_CROSS = re.compile(r"\s*[x×*]\s*", re.IGNORECASE)
_LIKE_A_CODE = re.compile(rf"(B{_GAP}C?|F){_GAP}([0-9]|$|[OIl](?![a-z]))", re.IGNORECASE)
WORD_MAX = 20
_FILIAL = re.compile(rf"F{_GAP}([1-9][0-9]?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Generation:
    """A generation of the pipeline, or a word for material outside it.

    Parameters
    ----------
    backcrosses, intercrosses : int or None
        Crosses back to the native species after the F1, then crosses within the generation.
        Both None when `other` is given.
    other : str
        "native", "donor" or a free word; empty for a generation counted by the two integers.

    Raises
    ------
    ValueError
        When a count is negative, only one is given, or counts and a word are mixed or both missing.

    Examples
    --------
    >>> Generation(3, 2).code, Generation(0, 0).code, Generation(None, None, "native").code
    ('B3F3', 'F1', 'native')
    """

    backcrosses: int | None
    intercrosses: int | None
    other: str = ""

    def __post_init__(self) -> None:
        counts = (self.backcrosses, self.intercrosses)
        if self.other.strip():
            if counts != (None, None):
                raise ValueError(f"generation “{self.other}” has counts {counts} too: give the word or the counts")
        elif None in counts:
            raise ValueError(f"generation counts are {counts}: give both, or a word such as native or donor")
        elif min(counts) < 0:
            raise ValueError(f"generation counts are {counts}: neither can be negative")

    @property
    def code(self) -> str:
        """The one canonical code: F1, F2, B1, B3, B3F2, B3F3, or the word."""
        word = self.other.strip()
        if word:
            return word.lower() if word.lower() in NAMED else word
        if self.backcrosses == 0:
            return f"F{self.intercrosses + 1}"
        return f"B{self.backcrosses}" + (f"F{self.intercrosses + 1}" if self.intercrosses else "")


def parse_generation(text: str) -> Generation:
    """Read a generation code in any of the spellings in use.

    Parameters
    ----------
    text : str
        Such as "B3F3", "BC3-F3", "b3 f3", "B3F1" (plain B3), "F2", "native". Case, spaces, hyphens
        and subscript digits do not matter.

    Returns
    -------
    Generation

    Raises
    ------
    ValueError
        When the text is not such a code; the message repeats it and gives examples. Free words are not
        read here, so that a slip of the pen does not become a generation of its own: make
        `Generation(None, None, word)` where the word is meant.

    Source
    ------
    Common practice of backcross breeding; Allard 1960, Principles of Plant Breeding, for the counts.

    Examples
    --------
    >>> parse_generation("BC3-F3")
    Generation(backcrosses=3, intercrosses=2, other='')
    >>> parse_generation("B3F1").code
    'B3'
    """
    # NFKC turns subscript and full-width digits into plain ones.
    plain = unicodedata.normalize("NFKC", text).strip()
    if plain.lower() in NAMED:
        return Generation(None, None, plain.lower())
    if match := _FILIAL.fullmatch(plain):
        return Generation(0, int(match[1]) - 1)
    if match := _BACKCROSS.fullmatch(plain):
        return Generation(int(match[1]), int(match[2] or 1) - 1)
    raise ValueError(f"“{text}” is not a generation code. Write it like {EXAMPLES}.")


def expected_native_share(generation: Generation) -> Fraction | None:
    """Expected share of the native species in an average tree of the generation.

    Parameters
    ----------
    generation : Generation

    Returns
    -------
    Fraction
        1 - (1/2)^(backcrosses + 1), exact; 1 for native, 0 for donor. None for any other word.

    Notes
    -----
    An average over a generation that was not selected, never a promise about one tree.
    Intercrossing leaves it unchanged.

    Source
    ------
    Allard 1960, Principles of Plant Breeding, backcross chapter.

    Examples
    --------
    >>> expected_native_share(Generation(3, 2))
    Fraction(15, 16)
    """
    if generation.code in NAMED:
        return Fraction(generation.code == "native")
    if generation.backcrosses is None:
        return None
    return 1 - Fraction(1, 2 ** (generation.backcrosses + 1))


def generation_of_cross(mother: Generation | None, father: Generation | None) -> Generation | None:
    """The generation that two parents give.

    Parameters
    ----------
    mother, father : Generation or None
        None where a parent's is not known.

    Returns
    -------
    Generation or None
        Two native trees give native, two donor trees donor, one of each F1. A cross back to a native tree is one backcross more. A cross
        within one count of backcrosses is one intercross more than the parent with more of them. A cross that has no code gets
        the codes of both parents as its word, the one with fewer backcrosses first: “B1 × B3”. None where a parent's
        generation is not known or is a word without a share.

    Source
    ------
    Common practice of backcross breeding; Allard 1960, Principles of Plant Breeding, for the counts.

    Examples
    --------
    >>> native, b3 = Generation(None, None, "native"), Generation(3, 0)
    >>> [generation_of_cross(*pair).code for pair in ((native, b3), (b3, b3), (b3, Generation(1, 0)))]
    ['B4', 'B3F2', 'B1 × B3']
    """
    if mother is None or father is None or None in map(expected_native_share, (mother, father)):
        return None
    first, second = sorted((mother, father), key=_from_native_to_donor)
    if first.code == "native":
        if second.code in NAMED:
            return Generation(0, 0) if second.code == "donor" else first
        return Generation(second.backcrosses + 1, 0)
    if first.code == second.code == "donor":
        return first
    if first.backcrosses is not None and first.backcrosses == second.backcrosses:
        return Generation(first.backcrosses, max(first.intercrosses, second.intercrosses) + 1)
    return Generation(None, None, f"{first.code} × {second.code}")


def contradicts_parents(stated: Generation, mother: Generation | None, father: Generation | None) -> bool:
    """Whether a stated generation averages another share of the native species than its parents do.

    Parameters
    ----------
    stated : Generation
    mother, father : Generation or None

    Returns
    -------
    bool
        A cross of two codes is compared with that of the parents; any other word, and a parent that states no share, contradicts nothing.

    Source
    ------
    Allard 1960, Principles of Plant Breeding, backcross chapter: the mean of offspring is the mean of both parents.

    Examples
    --------
    >>> b1, b3 = Generation(1, 0), Generation(3, 0)
    >>> contradicts_parents(Generation(2, 0), b1, b3), contradicts_parents(Generation(3, 2), b3, b3)
    (True, False)
    """
    given = generation_of_cross(mother, father)
    if given is None:
        return False
    share = expected_native_share(stated)
    if share is None:
        return "×" in stated.code and stated.code != given.code
    return 2 * share != expected_native_share(mother) + expected_native_share(father)


def _from_native_to_donor(generation):
    place = {"native": 0, "donor": 2}.get(generation.code, 1)
    return place, generation.backcrosses or 0, generation.intercrosses or 0


def read_generation(text: str) -> Generation:
    """Read a generation as a sheet gives it: a code, a cross of two codes, or a word that cannot be meant as a code.

    Parameters
    ----------
    text : str

    Returns
    -------
    Generation
        A cross is written with ×: “B1 x B3” is read as “B1 × B3”.

    Raises
    ------
    ValueError
        When the text is near a code but is not one ("B3F", "BC", "nativ"), or is longer than `WORD_MAX`.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> read_generation("BC3-F3").code, read_generation("B1x B3").code, read_generation("outcross").code
    ('B3F3', 'B1 × B3', 'outcross')
    """
    plain = " ".join(unicodedata.normalize("NFKC", text).split())
    try:
        return parse_generation(plain)
    except ValueError:
        parts = _CROSS.split(plain)
        if len(parts) == 2:
            with suppress(ValueError):
                plain = " × ".join(parse_generation(part).code for part in parts)
                return Generation(None, None, plain)
        if _LIKE_A_CODE.match(plain) or get_close_matches(plain.lower(), NAMED, cutoff=0.7) or not any(map(str.isalpha, plain)):
            raise
    if len(plain) > WORD_MAX:
        raise ValueError(f"“{text}” has more than {WORD_MAX} characters. Write a shorter word, or a code like {EXAMPLES}.")
    return Generation(None, None, plain)
