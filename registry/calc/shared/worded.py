"""Sentences of the pure packages that know their parts, so that the layers that know Django can write them in the language of the reader.

In English they are plain texts. Their templates are marked for translation by the names of these functions, as `gettext` marks them.

Source
------
Definition of this programme for all functions here: how sentences are put together.
"""

from collections.abc import Mapping

from registry.calc.shared.part_dates import SomeDate
from registry.calc.shared.screen import amount_words, day_words

__all__ = ["Amount", "Typed", "Worded", "counted", "typed", "worded", "worded_plural"]


class Worded(str):
    """A sentence made of a template and its values; `plural` and `count` where it changes with a number."""

    template: str
    values: dict[str, object]
    plural: str = ""
    count: int = 1


class Amount(str):
    """A count with its unit."""

    count: int
    unit: str


class Typed(str):
    """What somebody typed in English, and perhaps in other languages: `others` is {language: text}."""

    others: dict[str, str]


def typed(text: str, others: Mapping[str, str] | None = None) -> Typed:
    """A text that somebody typed, with what they typed for other languages.

    Parameters
    ----------
    text : str
        In English.
    others : mapping of language to text, optional

    Examples
    --------
    >>> typed("Leaf spot", {"fr": "Taches foliaires"})
    'Leaf spot'
    """
    made = Typed(text)
    made.others = dict(others or {})
    return made


def worded(template: str, **values: object) -> Worded:
    """A sentence: a template with places such as %(trees)s, and their values.

    Parameters
    ----------
    template : str
    values : int, date, text, `Worded` or `Amount`, by the name of their place

    Examples
    --------
    >>> worded("%(agreed)s of %(trees)s the same", agreed=1200, trees=counted(3000, "trees"))
    '1,200 of 3,000 trees the same'
    """
    return _made(template, "", 1, values)


def worded_plural(one: str, many: str, count: int, **values: object) -> Worded:
    """As `worded`, with the template that fits a count; the place of the count is %(n)s.

    Parameters
    ----------
    one, many : str
        Templates for a count of 1, and for any other.
    count : int, 0 or more
    values
        As of `worded`.

    Examples
    --------
    >>> worded_plural("%(n)s tree", "%(n)s trees", 1), worded_plural("%(n)s tree", "%(n)s trees", 1200)
    ('1 tree', '1,200 trees')
    """
    return _made(one, many, count, {"n": count} | values)


def _made(template: str, plural: str, count: int, values: dict[str, object]) -> Worded:
    chosen = plural if plural and count != 1 else template
    made = Worded(chosen % {name: _english(value) for name, value in values.items()})
    made.template, made.plural, made.count, made.values = template, plural, count, values
    return made


def _english(value: object) -> str:
    if isinstance(value, SomeDate):
        return day_words(value)
    return f"{value:,}" if isinstance(value, int) else str(value)


def counted(count: int, unit: str) -> Amount:
    """A count with its unit, as `amount_words`.

    Parameters
    ----------
    count : int
        In the unit.
    unit : str
        The plural, such as "trees".

    Examples
    --------
    >>> counted(1, "trees")
    '1 tree'
    """
    made = Amount(amount_words(count, unit))
    made.count, made.unit = count, unit
    return made
