"""The code at the foot of each page of a field form: its round, its form, its page, and a check character."""

import re
from typing import NamedTuple

_SIGNS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_CODE = re.compile(r"F([1-9][0-9]{0,9})-([1-9][0-9]{0,3})-([1-9][0-9]{0,3})-([0-9A-Z])", re.ASCII)


class PageCode(NamedTuple):
    """Key of the round, number of the form in its round, number of the page in its form."""

    round: int
    form: int
    page: int

    def __str__(self) -> str:
        plain = f"F{self.round}-{self.form}-{self.page}"
        return f"{plain}-{check_character(plain.replace('-', ''))}"


class PageCodeFault(ValueError):
    """A page code whose check character does not fit: one of its characters is wrong."""


def check_character(text: str) -> str:
    """The check character of digits and capital letters.

    It differs for any two texts that differ in one character, and for nearly all that differ by two neighbours exchanged.

    Raises
    ------
    ValueError
        For any other character.

    Source
    ------
    ISO/IEC 7064, system MOD 37,36; from memory.

    Examples
    --------
    >>> check_character("A12425GABC1234002")
    'M'
    """
    product = 36
    for sign in text:
        total = (product + _SIGNS.index(sign)) % 36 or 36
        product = total * 2 % 37
    return _SIGNS[(37 - product) % 36]


def read_page_code(text: str) -> PageCode | None:
    """The page code somebody typed or scanned, None for anything else. Spaces and small letters do not matter.

    Raises
    ------
    PageCodeFault
        When the check character does not fit.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> str(PageCode(12, 1, 3)), read_page_code(" f12-1-3-v "), read_page_code("F12")
    ('F12-1-3-V', PageCode(round=12, form=1, page=3), None)
    """
    found = _CODE.fullmatch("".join(text.split()).upper())
    if found is None:
        return None
    *numbers, check = found.groups()
    code = PageCode(*map(int, numbers))
    if check != str(code)[-1]:
        raise PageCodeFault("The last character of this page code does not fit the others. Compare it with the printed page.")
    return code
