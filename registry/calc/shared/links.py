"""Addresses that a phone opens by itself: a number to dial, a place on its map."""

import re

__all__ = ["decimal_degrees", "geo_address", "tel_address"]


def tel_address(number: str) -> str:
    """The address that dials a number; "" when it has no digits.

    Parameters
    ----------
    number : str
        As somebody wrote it. An extension after "ext" or "x" is dialled after a pause by phones that can.

    Source
    ------
    RFC 3966: digits, a leading + of a number with its country, `;ext=`.

    Examples
    --------
    >>> tel_address("(802) 555-0100"), tel_address("+1 802 555 0100 ext. 7"), tel_address("ask at the office")
    ('tel:8025550100', 'tel:+18025550100;ext=7', '')
    """
    main, _x, extension = re.sub(r"(?i)ext\.?|x", "x", number).partition("x")
    if "+" in main:
        main = main.replace("(0)", "")  # dialled inside the country only
    digits = re.sub(r"\D", "", main)
    if not digits:
        return ""
    plus = "+" if main.strip().startswith(("+", "(+")) else ""
    further = re.sub(r"\D", "", extension)
    return f"tel:{plus}{digits}" + (f";ext={further}" if further else "")


def decimal_degrees(longitude: float, latitude: float) -> str:
    """A place as map programs take it: latitude first, in degrees with five places (about 1 m).

    Parameters
    ----------
    longitude, latitude : float
        In degrees (WGS 84), from -180 to 180 and from -90 to 90.

    Source
    ------
    ISO 6709 for the order; RFC 5870 for the sign and the comma.

    Examples
    --------
    >>> decimal_degrees(-73.2, 44.5)
    '44.50000,-73.20000'
    """
    return f"{latitude:.5f},{longitude:.5f}"


def geo_address(longitude: float, latitude: float) -> str:
    """The address that opens a place in the map of a phone.

    Parameters
    ----------
    longitude, latitude : float
        In degrees (WGS 84), from -180 to 180 and from -90 to 90.

    Source
    ------
    RFC 5870.

    Examples
    --------
    >>> geo_address(-73.2, 44.5)
    'geo:44.50000,-73.20000'
    """
    return f"geo:{decimal_degrees(longitude, latitude)}"
