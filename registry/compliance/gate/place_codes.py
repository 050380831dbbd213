"""Place codes as rules and papers write them, checked against the countries and subdivisions that exist (ISO 3166-1, 3166-2)."""

from registry.compliance.gate.places import read_pattern

__all__ = ["check_pattern", "check_region"]


def check_region(code):
    """Raise `ValueError` when no country or subdivision has this code: a mistyped one would silence a rule."""
    import pycountry

    country, dash, _part = code.partition("-")
    if pycountry.countries.get(alpha_2=country) is None:
        raise ValueError(f"“{code}”: no country has the code {country} (ISO 3166-1).")
    if dash and pycountry.subdivisions.get(code=code) is None:
        raise ValueError(f"“{code}” is not a subdivision of {country} (ISO 3166-2). Write it like US-VT.")
    if code != code.upper():  # pycountry does not mind, a rule does
        raise ValueError(f"“{code}”: write the code in capitals, {code.upper()}.")


def check_pattern(pattern):
    """Raise `ValueError` when a place pattern cannot be read or names a place that does not exist."""
    _outside, field, code, _county = read_pattern(pattern)
    if field == "region":
        check_region(code)
