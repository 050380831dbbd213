"""Territories that have a country code of their own beside their code as a part of another country."""

# ISO 3166-1 alpha-2 code: codes as subdivisions in ISO 3166-2
TERRITORIES = {
    "AS": ("US-AS",), "GU": ("US-GU",), "MP": ("US-MP",), "PR": ("US-PR",), "UM": ("US-UM",), "VI": ("US-VI",),
    "AW": ("NL-AW",), "BQ": ("NL-BQ1", "NL-BQ2", "NL-BQ3"), "CW": ("NL-CW",), "SX": ("NL-SX",),
    "BL": ("FR-BL",), "GF": ("FR-973",), "GP": ("FR-971",), "MF": ("FR-MF",), "MQ": ("FR-972",), "NC": ("FR-NC",), "PF": ("FR-PF",),
    "PM": ("FR-PM",), "RE": ("FR-974",), "TF": ("FR-TF",), "WF": ("FR-WF",), "YT": ("FR-976",),
    "AX": ("FI-01",), "SJ": ("NO-21", "NO-22"), "HK": ("CN-HK",), "MO": ("CN-MO",),
}  # fmt: skip
_OWN_CODE = {part: code for code, parts in TERRITORIES.items() for part in parts}


def other_codes(code: str) -> tuple[str, ...]:
    """The other codes of a place that is a territory: a rule of its country and a rule that names it alone both hold there.

    Parameters
    ----------
    code : str
        ISO 3166, as of `Place.code`.

    Source
    ------
    ISO 3166-1 and 3166-2, remarks on territories that are in both (from memory; a test compares the codes with pycountry).

    Examples
    --------
    >>> other_codes("PR"), other_codes("US-PR"), other_codes("US-VT"), other_codes("BQ")
    (('US-PR',), ('PR',), (), ('NL',))
    """
    if code in _OWN_CODE:
        return (_OWN_CODE[code],)
    parts = TERRITORIES.get(code, ())
    return parts if len(parts) < 2 else (parts[0].partition("-")[0],)
