"""The time zone of a place by its ISO 3166 code, for the clocks of incidents.

Source
------
IANA time zone database, zones of the states and provinces (from memory). Where a state has two zones, that of its larger part is taken; a
person may choose the other.
"""

from registry.compliance.shared.territories import other_codes

_ZONES = {
    "America/New_York": "CT DC DE FL GA IN KY MA MD ME MI NC NH NJ NY OH PA RI SC VA VT WV",
    "America/Chicago": "AL AR IA IL KS LA MN MO MS ND NE OK SD TN TX WI",
    "America/Denver": "CO ID MT NM UT WY",
    "America/Phoenix": "AZ",
    "America/Los_Angeles": "CA NV OR WA",
    "America/Anchorage": "AK",
    "Pacific/Honolulu": "HI",
    "America/Puerto_Rico": "PR VI",
    "Pacific/Guam": "GU MP",
    "Pacific/Pago_Pago": "AS",
}
_CANADA = {
    "America/St_Johns": "NL",
    "America/Halifax": "NB NS PE",
    "America/Toronto": "ON QC",
    "America/Winnipeg": "MB",
    "America/Regina": "SK",
    "America/Edmonton": "AB NT",
    "America/Vancouver": "BC",
    "America/Whitehorse": "YT",
    "America/Iqaluit": "NU",
}
_COUNTRIES = {
    "AT": "Europe/Vienna", "BE": "Europe/Brussels", "BG": "Europe/Sofia", "CH": "Europe/Zurich", "CZ": "Europe/Prague",
    "DE": "Europe/Berlin", "DK": "Europe/Copenhagen", "EE": "Europe/Tallinn", "ES": "Europe/Madrid", "FI": "Europe/Helsinki",
    "FR": "Europe/Paris", "GB": "Europe/London", "GR": "Europe/Athens", "HR": "Europe/Zagreb", "HU": "Europe/Budapest",
    "IE": "Europe/Dublin", "IT": "Europe/Rome", "LT": "Europe/Vilnius", "LU": "Europe/Luxembourg", "LV": "Europe/Riga",
    "NL": "Europe/Amsterdam", "NO": "Europe/Oslo", "PL": "Europe/Warsaw", "PR": "America/Puerto_Rico", "PT": "Europe/Lisbon",
    "RO": "Europe/Bucharest", "SE": "Europe/Stockholm", "SI": "Europe/Ljubljana", "SK": "Europe/Bratislava",
}  # fmt: skip
# territories, which are far from the zone of their country; French Polynesia as Tahiti
_TERRITORIES = {
    "AW": "America/Aruba", "AX": "Europe/Mariehamn", "BL": "America/St_Barthelemy", "BQ": "America/Kralendijk", "CW": "America/Curacao",
    "GF": "America/Cayenne", "GP": "America/Guadeloupe", "HK": "Asia/Hong_Kong", "MF": "America/Marigot", "MO": "Asia/Macau",
    "MQ": "America/Martinique", "NC": "Pacific/Noumea", "PF": "Pacific/Tahiti", "PM": "America/Miquelon", "RE": "Indian/Reunion",
    "SJ": "Arctic/Longyearbyen", "SX": "America/Lower_Princes", "TF": "Indian/Kerguelen", "TW": "Asia/Taipei", "UM": "Pacific/Wake",
    "WF": "Pacific/Wallis", "YT": "Indian/Mayotte",
}  # fmt: skip
_BY_CODE = (
    {f"US-{state}": zone for zone, states in _ZONES.items() for state in states.split()}
    | {f"CA-{province}": zone for zone, provinces in _CANADA.items() for province in provinces.split()}
    | _COUNTRIES
    | _TERRITORIES
)
ZONE_NAMES = tuple(sorted(set(_BY_CODE.values())))


def zone_of(code: str) -> str:
    """The name of the zone of a country, territory, state or province; “” where it is not known.

    Examples
    --------
    >>> zone_of("US-WI"), zone_of("GB-SCT"), zone_of("US"), zone_of("")
    ('America/Chicago', 'Europe/London', '', '')
    >>> zone_of("GU"), zone_of("FR-971"), zone_of("GP")
    ('Pacific/Guam', 'America/Guadeloupe', 'America/Guadeloupe')
    """
    codes = (code, *other_codes(code))
    countries = sorted((one.partition("-")[0] for one in codes), key=lambda name: name not in _TERRITORIES)
    return next((_BY_CODE[name] for name in (*codes, *countries) if name in _BY_CODE), "")
