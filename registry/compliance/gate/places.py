"""Place patterns of rules and papers, checked against a place that may be known only in part."""

import re
from collections.abc import Iterable
from functools import lru_cache

from registry.compliance.gate.facts import Place

NO, UNKNOWN, YES = 0, 1, 2
_REGION = re.compile(r"[A-Z]{2}(?:-[A-Z0-9]{1,3})?")
_PATTERN_HELP = "Write US, US-VT, US-VT/Chittenden, site:CODE or partner:CODE, each with “outside ” before it when wanted"


def read_pattern(pattern: str) -> tuple[bool, str, str, str]:
    """A pattern taken apart.

    Parameters
    ----------
    pattern : str
        “US” (a country), “US-VT” (a subdivision of ISO 3166-2), “US-VT/Chittenden” (a county in it),
        “site:ST-01”, “partner:PT-01”; or one of these after “outside ”.

    Returns
    -------
    (is_outside, field, code, county), field being region, site or partner.

    Raises
    ------
    ValueError
        When it is none of these.

    Source
    ------
    Codes by ISO 3166-2; the notation is a definition of this programme.

    Examples
    --------
    >>> read_pattern("outside CA-ON"), read_pattern("US-VT/Chittenden")
    ((True, 'region', 'CA-ON', ''), (False, 'region', 'US-VT', 'chittenden'))
    """
    inner = pattern.removeprefix("outside ").strip()
    is_outside = pattern.startswith("outside ")
    for field in ("site", "partner"):
        code = inner.removeprefix(f"{field}:")
        if code != inner and code.strip():
            return is_outside, field, code.strip(), ""
    region, slash, county = inner.partition("/")
    if not _REGION.fullmatch(region) or (slash and not county.strip()):
        raise ValueError(f"“{pattern}” is not a place pattern. {_PATTERN_HELP}.")
    return is_outside, "region", region, county.strip().casefold()


_read = lru_cache(maxsize=4096)(read_pattern)


def _inside(field: str, code: str, county: str, place: Place) -> int:
    if field != "region":
        known = place.site if field == "site" else place.partner
        return UNKNOWN if not known else YES if known == code else NO
    if not place.code or (place.code != code and code.startswith(f"{place.code}-")):
        return UNKNOWN
    if place.code != code and not place.code.startswith(f"{code}-"):
        return NO
    if not county:
        return YES
    return UNKNOWN if not place.county else YES if place.county.casefold() == county else NO


def matches(patterns: Iterable[str], place: Place) -> int:
    """Whether a place lies in what the patterns say: YES, NO, or UNKNOWN when too little of the place is known.

    Parameters
    ----------
    patterns : iterable of str
        It must lie in any of the plain ones, if there are any, and outside all of the “outside” ones.
        None at all: everywhere.
    place : Place

    Returns
    -------
    int
        `YES`, `NO` or `UNKNOWN`.

    Raises
    ------
    ValueError
        When a pattern cannot be read.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> vermont = Place(code="US-VT")
    >>> matches(["US", "outside US-NY"], vermont) == YES, matches(["US-NY"], vermont) == NO, matches(["US-NY"], Place("US")) == UNKNOWN
    (True, True, True)
    """
    inside, outside = None, YES
    for pattern in patterns:
        is_outside, field, code, county = _read(pattern)
        found = _inside(field, code, county, place)
        if is_outside:
            outside = min(outside, YES - found)
        else:
            inside = found if inside is None else max(inside, found)
    return outside if inside is None else min(inside, outside)


def place_words(place: Place) -> str:
    """A place in words.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> place_words(Place("US-VT", county="Chittenden", site="ST-01"))
    'US-VT, Chittenden, site ST-01'
    """
    parts = (place.code, place.county, place.site and f"site {place.site}", place.partner and f"partner {place.partner}")
    return ", ".join(filter(None, parts)) or "a place that is not given"
