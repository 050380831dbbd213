"""Numbers that somebody measured: refused in words where they are none, not above zero, or too large to calculate with."""

from collections.abc import Callable
from math import inf, isfinite


def check_positive(name: str, value: float, unit: str = "", zero_too: bool = False) -> None:
    """Refuse a number that is not above 0 (with `zero_too`: below 0) or not finite.

    Parameters
    ----------
    name : str
        What the number is, for the message.
    value : float
        In `unit`.
    unit : str
        For the message; "" for a number without one.
    zero_too : bool
        Whether 0 is accepted.

    Raises
    ------
    ValueError
        In words, with the name and the unit.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> check_positive("mass", 3.2, "g")
    """
    if not isfinite(value) or value < 0 or (value == 0 and not zero_too):
        raise ValueError(f"The {name} is {f'{value:g} {unit}'.strip()}. Give a number {'of 0 or more' if zero_too else 'above 0'}.")


def check_finite(name: str, compute: Callable[[], float]) -> float:
    """What `compute()` gives, refused where it is too large for a floating point number.

    Parameters
    ----------
    name : str
        What the number is, for the message.
    compute : function without arguments
        Gives the number, in any unit.

    Returns
    -------
    float
        In the unit of `compute`.

    Raises
    ------
    ValueError
        In words, with the name.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> check_finite("mass", lambda: 2.5 * 2)
    5.0
    """
    try:
        value = compute()
    except OverflowError:
        value = inf
    if not isfinite(value):
        raise ValueError(f"The {name} is too large to calculate. Check the numbers and their units.")
    return value
