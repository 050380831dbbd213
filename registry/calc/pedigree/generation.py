"""Generation codes of the backcross pipeline: two integers in, one printed code out."""

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

EXAMPLES = "B3F3, BC3F3, B3-F3, B3, F1, F2, native or donor"
NAMED = ("native", "donor")
_GAP = r"[\s_.\-‐‑–—]*"
_BACKCROSS = re.compile(rf"B{_GAP}C?{_GAP}([1-9][0-9]?)(?:{_GAP}F{_GAP}([1-9][0-9]?))?", re.IGNORECASE)
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
