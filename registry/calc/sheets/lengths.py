"""Lengths as people measure them, in the unit of a column."""

from fractions import Fraction

# in metres, exactly; inch and foot by the international agreement of 1959
METRES = {
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
    "in": Fraction(254, 10_000),
    "ft": Fraction(3048, 10_000),
}


def length_in(value: float, unit: str, wanted: str) -> float:
    """A length in another unit.

    Parameters
    ----------
    value : float
        In `unit`.
    unit, wanted : str
        One of mm, cm, m, in, ft.

    Returns
    -------
    float
        In `wanted`.

    Raises
    ------
    KeyError
        A unit that is not in the table.

    Source
    ------
    The number is taken as it is written in decimals, so 30.1 in are 76.454 cm. Source: international yard and pound agreement, 1959.
    """
    return float(Fraction(repr(value)) * METRES[unit] / METRES[wanted])
