"""Names of the counties of the United States, as rules and records type them."""

from difflib import get_close_matches
from functools import cache
from pathlib import Path
from unicodedata import combining, normalize

from registry.compliance.shared.territories import other_codes

_LIST = Path(__file__).with_name("us_counties.txt")
_KINDS = ("county", "parish", "borough", "census area", "municipality", "municipio")


@cache
def _counties() -> dict[str, dict[str, str]]:
    """{code of the state: {name as it is compared: name}}."""
    found: dict[str, dict[str, str]] = {}
    for line in _LIST.read_text(encoding="utf-8").splitlines():
        state, _, name = line.partition("/")
        found.setdefault(state, {})[_key(name)] = name
    return found


def _of_region(region: str) -> dict[str, str] | None:
    """The counties of a state or territory. None for a region without a list of counties."""
    lists = (_counties().get(code) for code in (region, *other_codes(region)))
    return next(filter(None, lists), None)


def _key(name: str) -> str:
    plain = "".join(letter for letter in normalize("NFKD", name) if not combining(letter))
    words = " ".join(plain.replace(".", " ").replace("'", "").casefold().split())
    for kind in _KINDS:
        words = words.removesuffix(f" {kind}")
    return words.replace("saint ", "st ").replace("sainte ", "ste ")


def county_name(region: str, typed: str) -> str:
    """A county as the list of the Census Bureau writes it.

    Parameters
    ----------
    region : str
        ISO 3166-2 code of its state.
    typed : str

    Returns
    -------
    str
        As typed outside the United States, where there is no list; “” where the state has no such county.

    Source
    ------
    US Census Bureau, cartographic boundary files of 2017, through `plantings/boundaries/build.py`.

    Examples
    --------
    >>> county_name("US-NM", "Dona Ana County"), county_name("US-VT", "Kent"), county_name("CA-ON", "Kent")
    ('Doña Ana', '', 'Kent')
    >>> county_name("PR", "San German")
    'San Germán'
    """
    typed = " ".join(typed.split())
    known = _of_region(region)
    return typed if known is None else known.get(_key(typed), "")


def county_fault(region: str, typed: str) -> str:
    """Why a county cannot be; “” when it can, or nobody here can tell.

    Source
    ------
    As of `county_name`.

    Examples
    --------
    >>> county_fault("US-VT", "Chitenden")
    '“Chitenden” is not a county of US-VT. Did you mean Chittenden?'
    """
    if not typed.strip() or county_name(region, typed):
        return ""
    known = _of_region(region) or {}
    near = get_close_matches(_key(typed), known, n=1)
    hint = f"Did you mean {known[near[0]]}?" if near else "Check the name and the state."
    return f"“{typed}” is not a county of {region}. {hint}"
