"""Territories that have a country code of their own beside their code as a part of another country."""

# ISO 3166-1 alpha-2 code: codes as subdivisions in ISO 3166-2; the letters of five French ones are those of lists before 2021
TERRITORIES = {
    "AS": ("US-AS",), "GU": ("US-GU",), "MP": ("US-MP",), "PR": ("US-PR",), "UM": ("US-UM",), "VI": ("US-VI",),
    "AW": ("NL-AW",), "CW": ("NL-CW",), "SX": ("NL-SX",),
    "BL": ("FR-BL",), "MF": ("FR-MF",), "NC": ("FR-NC",), "PF": ("FR-PF",), "PM": ("FR-PM",), "TF": ("FR-TF",), "WF": ("FR-WF",),
    "GF": ("FR-973", "FR-GF"), "GP": ("FR-971", "FR-GP"), "MQ": ("FR-972", "FR-MQ"), "RE": ("FR-974", "FR-RE"), "YT": ("FR-976", "FR-YT"),
    "AX": ("FI-01",), "HK": ("CN-HK",), "MO": ("CN-MO",), "TW": ("CN-TW",),
    "BQ-BO": ("NL-BQ1",), "BQ-SA": ("NL-BQ2",), "BQ-SE": ("NL-BQ3",),
}  # fmt: skip
# territories that are several subdivisions of their country
DIVIDED = {"BQ": ("NL-BQ1", "NL-BQ2", "NL-BQ3"), "SJ": ("NO-21", "NO-22")}
EARLIER_CODES = frozenset(("FR-GF", "FR-GP", "FR-MQ", "FR-RE", "FR-YT"))
_SAME = {name: (code, *parts) for code, parts in TERRITORIES.items() for name in (code, *parts)}
_WHOLE = {part: code for code, parts in DIVIDED.items() for part in parts}


def other_codes(code: str) -> tuple[str, ...]:
    """The other codes of a place that is a territory: a rule of its country and a rule that names it alone both hold there.

    Parameters
    ----------
    code : str
        ISO 3166, as of `Place.code`.

    Returns
    -------
    tuple of str
        Codes of the same place, or of one that it is a part of. None for a territory of several subdivisions: see `parts_of`.

    Source
    ------
    ISO 3166-1 and 3166-2, remarks on territories that are in both (from memory; a test compares the codes with pycountry). The earlier
    French codes are those of the regions overseas in ISO 3166-2 before November 2020 (from memory).

    Examples
    --------
    >>> other_codes("PR"), other_codes("US-PR"), other_codes("US-VT"), other_codes("FR-GP")
    (('US-PR',), ('PR',), (), ('GP', 'FR-971'))
    >>> other_codes("NL-BQ1"), other_codes("NO-21"), other_codes("TW-TPE")
    (('BQ-BO',), ('SJ',), ('CN-TW',))
    """
    if code in _SAME:
        return tuple(other for other in _SAME[code] if other != code)
    if code in _WHOLE:
        return (_WHOLE[code],)
    return TERRITORIES.get(code.partition("-")[0], ()) if "-" in code else ()


def parts_of(code: str) -> tuple[str, ...]:
    """The subdivisions of its country that a territory is made of, where it is more than one; a place in it is in one of them.

    Source
    ------
    As of `other_codes`.

    Examples
    --------
    >>> parts_of("SJ"), parts_of("PR")
    (('NO-21', 'NO-22'), ())
    """
    return DIVIDED.get(code, ())


def is_in_region(code: str, region: str) -> bool:
    """Whether a place lies in a country or subdivision, under whichever code of a territory either is written.

    Source
    ------
    As of `other_codes`.

    Examples
    --------
    >>> is_in_region("US-PR", "PR"), is_in_region("PR", "US"), is_in_region("SJ", "NO"), is_in_region("US-VT", "US-NY")
    (True, True, True, False)
    """
    if any(f"{own}-".startswith(f"{region}-") for own in (code, *other_codes(code))):
        return True
    parts = parts_of(code)
    return bool(parts) and all(f"{part}-".startswith(f"{region}-") for part in parts)
