"""Measurements of a programme's own: how their classes are written, and how a record holds their values.

A record names such a measurement by its code and version, `leaf_spot_v2`, so a value says for itself by which definition it was taken.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from plantings.calc.census.codes import Code
from plantings.calc.census.measurements import CODE_LENGTH_MAX, ERROR, Growth, Measurement
from registry.calc.shared.marked import gettext_noop
from registry.calc.shared.worded import typed

__all__ = [
    "CLASSES_MOST",
    "ClassesFault",
    "OwnWords",
    "class_words",
    "classes_text",
    "field_of",
    "own_measurement",
    "own_value",
    "read_classes",
    "row_values",
]

CLASSES_MOST = 20
DIGITS_FROM = 20  # the narrowest range of a whole number in which an observer's last digits say something; common practice, no source
_CODE = re.compile(r"[0-9]{1,3}|[a-z][a-z0-9_]*")
_NUMBER_MAX = 10**9
_ONLY_GROWS = gettext_noop("By its definition it only grows. Check the reading and the tag.")


class OwnWords(NamedTuple):
    """The words of a measurement in another language; `unit` is "" where it is written as in English, `classes` are in its order."""

    name: str
    taken: str
    unit: str = ""
    classes: Sequence[str] = ()


class ClassesFault(ValueError):
    """The classes of a measurement cannot be used as they were written. The text says why."""


def field_of(code: str, version: int) -> str:
    """The name of a version of a measurement in records, forms, sheets and on the phone.

    Parameters
    ----------
    code : str
    version : int
        From 1.

    Source
    ------
    A name of our own: no source.

    Examples
    --------
    >>> field_of("leaf_spot", 2)
    'leaf_spot_v2'
    """
    return f"{code}_v{version}"


def read_classes(text: str) -> tuple[Code, ...]:
    """Ordered classes as a person writes them, from nothing to most: "0 = none; 1 = a few leaves; 2 = most leaves".

    Parameters
    ----------
    text : str
        Classes separated by semicolons or lines, each a code, an equals sign and its words; "" for none. Codes are all whole numbers,
        each above the one before, or all words of small letters.

    Raises
    ------
    ClassesFault

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> [tuple(one)[:2] for one in read_classes("0 = none; 1 = a few leaves")]
    [(0, 'none'), (1, 'a few leaves')]
    """
    found = []
    for part in re.split(r"[;\n]", text):
        if not part.strip():
            continue
        code, equals, words = (piece.strip() for piece in part.partition("="))
        if not equals or not words or not _CODE.fullmatch(code):
            raise ClassesFault(
                f"“{part.strip()[:60]}” is not a class. Write each as a code, an equals sign and its words, such as 0 = none."
            )
        if len(code) > CODE_LENGTH_MAX:
            raise ClassesFault(f"The code “{code}” is longer than {CODE_LENGTH_MAX} characters. Shorten it.")
        found.append((code, words))
    if not found:
        return ()
    if not 2 <= len(found) <= CLASSES_MOST:
        raise ClassesFault(f"Give at least 2 classes and at most {CLASSES_MOST}.")
    codes = [code for code, _words in found]
    numbered = [code.isdecimal() for code in codes]
    if any(numbered) and not all(numbered):
        raise ClassesFault("Some codes are numbers and some are words. Use one kind.")
    if all(numbered):
        numbers = [int(code) for code in codes]
        if any(following <= before for before, following in zip(numbers, numbers[1:], strict=False)):
            raise ClassesFault("The numbers of the classes must rise from one class to the next.")
        return tuple(Code(number, words, "") for number, (_code, words) in zip(numbers, found, strict=True))
    if len(set(codes)) < len(codes):
        raise ClassesFault("Two classes have the same code.")
    return tuple(Code(code, words, "") for code, words in found)


def classes_text(classes: Iterable[Code]) -> str:
    """Classes as `read_classes` reads them, in one line.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> classes_text(read_classes("0=none;1=some"))
    '0 = none; 1 = some'
    """
    return "; ".join(f"{code} = {words}" for code, words, _meaning in classes)


def class_words(text: str, classes: Iterable[tuple[int | str, str]]) -> tuple[str, ...]:
    """The words of classes in another language, written as `read_classes` reads them, with the codes of the English ones.

    Parameters
    ----------
    text : str
    classes : iterable of (code, words)
        The classes in English.

    Raises
    ------
    ClassesFault
        Also where a code is missing, or is not one of the English ones in their order.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> class_words("0 = aucune; 1 = quelques feuilles", [(0, "none"), (1, "a few leaves")])
    ('aucune', 'quelques feuilles')
    """
    found, codes = read_classes(text), [code for code, _words in classes]
    if [code for code, _words, _meaning in found] != codes:
        listed = ", ".join(map(str, codes))
        raise ClassesFault(f"Write the codes {listed} in this order, each with its words." if codes else "It has no classes in English.")
    return tuple(words for _code, words, _meaning in found)


def own_measurement(
    *, code: str, version: int, name: str, taken: str, unit: str = "", classes: Iterable[tuple[int | str, str]] = (),
    low: float | None = None, high: float | None = None, whole: bool = False, from_season: int = 0,
    loss_most: float | None = None, gain_most: float | None = None, words: Mapping[str, OwnWords] | None = None,
) -> Measurement:  # fmt: skip
    """A measurement of the programme as one of the table: a number, or classes.

    Parameters
    ----------
    code, name, taken, unit : str
    version : int
        From 1.
    classes : iterable of (code, words)
        From nothing to most; none for a number.
    low, high : float or None
        The range of a number in its unit.
    whole : bool
        A number without decimals.
    from_season : int
        Growing seasons completed from which on it is asked for.
    loss_most : float or None
        Of a number that only grows: how much less a later reading of the same tree may be, in its unit. None where it may also fall.
    gain_most : float or None
        The most that it grows in a year, in its unit; None for no limit.
    words : mapping of language to OwnWords, optional
        Its words in other languages; "" in English where there are none.

    Raises
    ------
    ValueError
        Where neither or both of classes and a highest value are given.

    Source
    ------
    What is measured, and within which limits: definition of this programme.

    Examples
    --------
    >>> own_measurement(code="crown", version=1, name="Crown width", taken="At its widest.", unit="cm", low=0, high=900).sheet_header
    'crown_v1: Crown width (cm)'
    """
    field, words = field_of(code, version), words or {}
    listed = tuple(
        Code(class_code, typed(label, {language: said.classes[number] for language, said in words.items()}), "")
        for number, (class_code, label) in enumerate(classes)
    )
    numbers = {} if listed else {"low": low or 0, "high": high, "example": f"{low or 0:g}"}
    if loss_most is not None:
        numbers["growth"] = Growth(loss=loss_most, loss_words=_ONLY_GROWS, gain_a_year=gain_most)
    if whole and unit != "%" and high is not None and high - (low or 0) >= DIGITS_FROM:  # shares are estimated in steps
        numbers["fine_below"] = high
    return Measurement(
        name=field, field=field, label=typed(name, {language: said.name for language, said in words.items()}), group="",
        unit=typed(unit, {language: said.unit for language, said in words.items() if said.unit}), whole=whole, classes=listed,
        taken=typed(taken, {language: said.taken for language, said in words.items()}), unseen=ERROR,
        header=f"{field}: {name}" + (f" ({unit})" if unit else ""), is_own=True, from_season=from_season, **numbers,
    )  # fmt: skip


def own_value(item: Measurement, value: object) -> float | int | str | None:
    """A value as a record holds it.

    Returns
    -------
    float, int or str, or None
        A number in the unit of the measurement or a code, whether or not it is in range; None where it is of another kind.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> crown = own_measurement(code="crown", version=1, name="Crown width", taken="At its widest.", unit="cm", low=0, high=900)
    >>> own_value(crown, 3), own_value(crown, "wide"), own_value(crown, float("nan"))
    (3.0, None, None)
    """
    if item.is_word:
        return value if isinstance(value, str) and value else None
    if type(value) not in (int, float) or not abs(value) <= _NUMBER_MAX:
        return None
    if not item.is_whole:
        return float(value)
    return int(value) if value == int(value) else None


def row_values(asked: Iterable[Measurement], values: Mapping[str, object]) -> dict[str, object]:
    """Values by field as the arguments of a row: a column each, and `own_values` for those of the programme that are given.

    Parameters
    ----------
    asked : iterable of Measurement
    values : mapping of field to value
        None or "" for a blank. A field that is not among `asked` is passed over.

    Source
    ------
    A form of our own: no source.

    Examples
    --------
    >>> crown = own_measurement(code="crown", version=1, name="Crown width", taken="At its widest.", unit="cm", low=0, high=900)
    >>> row_values([crown], {"crown_v1": 2.5}), row_values([crown], {"crown_v1": None})
    ({'own_values': {'crown_v1': 2.5}}, {'own_values': {}})
    """
    found, own = {}, {}
    for item in asked:
        value = values.get(item.field)
        is_blank = value in (None, "")
        if not item.is_own:
            found[item.field] = item.blank if is_blank else value
        elif not is_blank:
            read = own_value(item, value)
            own[item.field] = value if read is None else read  # what cannot be read stays, for the rules of a row to name
    return found | {"own_values": dict(sorted(own.items()))}
