"""Place patterns of rules and papers, checked against a place that may be known only in part."""

import re
from collections.abc import Iterable
from functools import lru_cache

from registry.compliance.gate.answers import EDITION
from registry.compliance.gate.facts import Place
from registry.compliance.shared.territories import is_in_region, other_codes, parts_of

NO, UNKNOWN, YES = 0, 1, 2
_REGION = re.compile(r"[A-Z]{2}(?:-[A-Z0-9]{1,3})?")
_PATTERN_HELP = "Write US, US-VT, US-VT/Chittenden, site:CODE, partner:CODE or area:CODE, each with “outside ” before it when wanted"


def read_pattern(pattern: str) -> tuple[bool, str, str, str]:
    """A pattern taken apart.

    Parameters
    ----------
    pattern : str
        “US” (a country), “US-VT” (a subdivision of ISO 3166-2), “US-VT/Chittenden” (a county in it),
        “site:ST-01”, “partner:PT-01”, “area:GMNF” (an area of an added layer); or one of these after “outside ”.

    Returns
    -------
    (is_outside, field, code, county), field being region, site, partner or area.

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
    for field in ("site", "partner", "area"):
        code = inner.removeprefix(f"{field}:")
        if code != inner and code.strip():
            return is_outside, field, code.strip(), ""
    region, slash, county = inner.partition("/")
    if not _REGION.fullmatch(region) or (slash and not county.strip()):
        raise ValueError(f"“{pattern}” is not a place pattern. {_PATTERN_HELP}.")
    return is_outside, "region", region, county.strip().casefold()


_read = lru_cache(maxsize=4096)(read_pattern)


def _inside(field: str, code: str, county: str, place: Place, edition: int) -> int:
    if field == "area":
        return YES if code in place.areas else UNKNOWN if not place.areas_known or f"area:{code}" in place.near else NO
    if field != "region":
        known = place.site if field == "site" else place.partner
        return UNKNOWN if not known else YES if known == code else NO
    in_codes, others = (_in_codes, other_codes) if edition >= 6 else (_in_codes_before_6, lambda _code: ())
    found = in_codes(code, county, (place.code, *place.also), place.county)
    for other in place.near:  # the place may be there instead
        _outside, kind, near_code, near_county = _read(other)
        if kind == "region" and in_codes(code, county, (near_code, *others(near_code)), near_county) != found:
            return UNKNOWN
    return found


def _in_codes(code: str, county: str, own_codes: tuple[str, ...], own_county: str) -> int:
    """Whether a place is in a region. Its own code comes first, then the others it has as a territory."""
    own = own_codes[0]
    if not own or (code not in own_codes and is_in_region(code, own)):
        return UNKNOWN  # the region is only a part of what is known of the place
    if not any(f"{name}-".startswith(f"{code}-") for name in (*own_codes, *parts_of(own))):
        return NO
    if not county:
        return YES
    return UNKNOWN if not own_county else YES if own_county.casefold() == county else NO


def _in_codes_before_6(code: str, county: str, own_codes: tuple[str, ...], own_county: str) -> int:
    """Up to edition 5 each code of a territory was compared by itself."""
    return max(_in_code(code, county, own, own_county) for own in own_codes)


def _in_code(code: str, county: str, own: str, own_county: str) -> int:
    if not own or (own != code and code.startswith(f"{own}-")):
        return UNKNOWN
    if own != code and not own.startswith(f"{code}-"):
        return NO
    if not county:
        return YES
    return UNKNOWN if not own_county else YES if own_county.casefold() == county else NO


def matches(patterns: Iterable[str], place: Place, edition: int = EDITION) -> int:
    """Whether a place lies in what the patterns say: YES, NO, or UNKNOWN when too little of the place is known.

    Parameters
    ----------
    patterns : iterable of str
        It must lie in any of the plain ones, if there are any, and outside all of the “outside” ones.
        None at all: everywhere.
    place : Place
    edition : int
        Of the gate, as of the question: territories are compared as it did.

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
        found = _inside(field, code, county, place, edition)
        if is_outside:
            outside = min(outside, YES - found)
        else:
            inside = found if inside is None else max(inside, found)
    return outside if inside is None else min(inside, outside)


def excluded_places(patterns: Iterable[str]) -> list[str]:
    """The plain patterns of a list that lie altogether in what its “outside” ones leave out. When these are all, no place matches.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> excluded_places(["US", "outside US"]), excluded_places(["US-VT", "CA", "outside US"]), excluded_places(["US", "outside US-VT"])
    (['US'], ['US-VT'], [])
    """
    patterns = list(patterns)
    left_out = [read for pattern in patterns if (read := _read(pattern))[0]]
    return [
        pattern
        for pattern in patterns
        if not _read(pattern)[0] and any(_lies_in(_read(pattern), field, code, county) for _outside, field, code, county in left_out)
    ]


def _lies_in(pattern: tuple[bool, str, str, str], field: str, code: str, county: str) -> bool:
    _outside, kind, own, own_county = pattern
    if kind != field or kind != "region":
        return (kind, own) == (field, code)
    return _inside(field, code, county, Place(own, county=own_county), EDITION) == YES


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
    county = f"{place.county} (typed, not checked)" if place.county_typed and place.county else place.county
    near = f"near {', '.join(place.near)}" if place.near else ""
    areas = f"in {', '.join(place.areas)}" if place.areas else ""
    parts = (place.code, county, place.site and f"site {place.site}", place.partner and f"partner {place.partner}", areas, near)
    return ", ".join(filter(None, parts)) or "a place that is not given"


def names_a_county(patterns: Iterable[str]) -> bool:
    """Whether one of the patterns is about a county.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> names_a_county(["US-VT/Chittenden"]), names_a_county(["US-VT"])
    (True, False)
    """
    return any(_read(pattern)[3] for pattern in patterns)
