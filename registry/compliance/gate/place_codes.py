"""Place codes as rules and papers write them, checked against the countries and subdivisions that exist (ISO 3166-1, 3166-2)."""

from registry.compliance.gate.places import read_pattern
from registry.compliance.shared.counties import county_fault, county_name
from registry.compliance.shared.territories import EARLIER_CODES

__all__ = ["check_pattern", "check_region", "place_code"]


def check_region(code: str) -> None:
    """Refuse a code that no country or subdivision has: a mistyped one would silence a rule.

    Raises
    ------
    ValueError
        When the code is not in the lists, or not in capitals.

    Source
    ------
    ISO 3166-1 and ISO 3166-2, as the library pycountry holds them, and codes of territories that earlier lists had.
    """
    import pycountry

    country, dash, _part = code.partition("-")
    if pycountry.countries.get(alpha_2=country) is None:
        raise ValueError(f"“{code}”: no country has the code {country} (ISO 3166-1).")
    if dash and code not in EARLIER_CODES and pycountry.subdivisions.get(code=code) is None:
        raise ValueError(f"“{code}” is not a subdivision of {country} (ISO 3166-2). Write it like US-VT.")
    if code != code.upper():  # pycountry does not mind, a rule does
        raise ValueError(f"“{code}”: write the code in capitals, {code.upper()}.")


def place_code(typed: str) -> str:
    """A country or subdivision, or a county in one, as rules write it.

    Parameters
    ----------
    typed : str
        Such as “us-vt” or “US-VT/chittenden county”.

    Raises
    ------
    ValueError
        As for `check_region`, and for a county that its state does not have.

    Source
    ------
    ISO 3166, as for `check_region`; counties as of `county_name`.

    Examples
    --------
    >>> place_code("us-vt"), place_code("US-VT / chittenden county")
    ('US-VT', 'US-VT/Chittenden')
    """
    region, stroke, county = (part.strip() for part in typed.partition("/"))
    region = region.upper()
    check_region(region)
    if not stroke:
        return region
    if not county:
        raise ValueError(f"“{typed}”: name the county behind the stroke, or leave the stroke out.")
    if fault := county_fault(region, county):
        raise ValueError(f"“{typed}”: {fault}")
    return f"{region}/{county_name(region, county)}"


def check_pattern(pattern: str) -> None:
    """Refuse a place pattern that cannot be read, or that names a place that does not exist.

    Raises
    ------
    ValueError
        As for `read_pattern` and `check_region`.

    Source
    ------
    ISO 3166, as for `check_region`; counties as of `county_name`.
    """
    _outside, field, code, county = read_pattern(pattern)
    if field == "region":
        check_region(code)
        typed = pattern.partition("/")[2].strip()
        if fault := county_fault(code, typed):
            raise ValueError(f"“{pattern}”: {fault}")
        if county and county_name(code, typed) != typed:
            raise ValueError(f"“{pattern}”: write the county as {county_name(code, typed)}.")
