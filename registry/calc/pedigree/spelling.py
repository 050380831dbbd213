"""Names of trees that differ in their spelling only: 40.0 beside 40, r1 beside R1."""

import re
import unicodedata
from collections.abc import Iterable

_GAPS = re.compile(r"[\s_\-‐‑–—]+")
_DECIMALS = re.compile(r"([0-9]+)\.0+")
_ZEROS = re.compile(r"(?<![0-9.])0+(?=[0-9])")
_STEP = re.compile(r"(?<=[^\W\d]) (?=[0-9])")


def spelling_key(name: str) -> str:
    """What two spellings of one name have in common: capitals, blanks, hyphens, leading zeros and “.0” do not count.

    Source
    ------
    Definition of this programme: slips met in sheets.

    Examples
    --------
    >>> [spelling_key(name) for name in ("R1", "r-01", "R 1", "40.0", "40", "1.10")]
    ['r1', 'r1', 'r1', '40', '40', '1.10']
    """
    plain = unicodedata.normalize("NFKC", name).casefold().strip()
    if match := _DECIMALS.fullmatch(plain):
        plain = match[1]
    return _STEP.sub("", _ZEROS.sub("", _GAPS.sub(" ", plain)))


class Spellings:
    """Names that can be asked for one that is spelled nearly the same."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names: dict[str, list[str]] = {}
        for name in names:
            self.names.setdefault(spelling_key(name), []).append(name)

    def near(self, name: str) -> list[str]:
        """The other names that differ from this one in their spelling only, in the order given.

        Examples
        --------
        >>> Spellings(["R1", "R2", "40"]).near("r1"), Spellings(["R1"]).near("R1")
        (['R1'], [])
        """
        return [other for other in self.names.get(spelling_key(name), ()) if other != name]

    def alike(self) -> list[list[str]]:
        """The groups of two or more names that differ in their spelling only.

        Examples
        --------
        >>> Spellings(["R1", "40", "r1", "40.0", "7"]).alike()
        [['R1', 'r1'], ['40', '40.0']]
        """
        return [names for names in self.names.values() if len(names) > 1]
