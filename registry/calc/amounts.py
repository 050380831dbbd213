"""Counts with their units, in words; numbers as they are read aloud."""

from math import floor, log10

_MOST_PLACES = 12
_ODD_SINGULARS = {"taxa": "taxon", "people": "person", "entries": "entry"}


def amount_words(count: int, unit: str) -> str:
    """A count with its unit.

    Parameters
    ----------
    count : int
        In the unit.
    unit : str
        The plural, such as "seeds" or "plants".

    Examples
    --------
    >>> amount_words(1, "plants"), amount_words(1204, "seeds")
    ('1 plant', '1,204 seeds')
    """
    return f"{count:,} {unit_words(count, unit)}"


def unit_words(count: int, unit: str) -> str:
    """The unit as it stands behind a count: its singular behind one.

    Examples
    --------
    >>> unit_words(1, "lots"), unit_words(1, "entries"), unit_words(0, "lots")
    ('lot', 'entry', 'lots')
    """
    if abs(count) != 1:
        return unit
    return _ODD_SINGULARS.get(unit, unit.removesuffix("s"))


def number_words(value: float, digits: int = 4) -> str:
    """A measured number without an exponent, its thousands apart: whole from the first of `digits` significant figures up.

    Parameters
    ----------
    value : float
        Finite.
    digits : int
        Significant figures that are kept at least; what stands before the decimal point is never rounded away.
        Beyond twelve places nothing is shown.

    Examples
    --------
    >>> number_words(16384), number_words(50000.4), number_words(289.855), number_words(0.29), number_words(0.00001)
    ('16,384', '50,000', '289.9', '0.29', '0.00001')
    """
    if not value:
        return "0"
    places = min(max(0, digits - 1 - floor(log10(abs(value)))), _MOST_PLACES)
    words = f"{value:,.{places}f}"
    return words.rstrip("0").rstrip(".") if places else words
