"""Counts with their units, in words."""

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
