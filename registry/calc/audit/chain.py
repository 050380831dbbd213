"""A chain of entries, each with the hash of the one before it: a change, a gap or a swap shows."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import NamedTuple

_WRITER = json.JSONEncoder(sort_keys=True, ensure_ascii=True, separators=(",", ":"))

__all__ = ["Break", "canonical_text", "chain_sha256", "first_break", "text_sha256"]


class Break(NamedTuple):
    """Where a chain is broken: the number of the entry (from 1) and what is wrong."""

    number: int
    what: str


def chain_sha256(previous: str, content: Mapping) -> str:
    """Hash of an entry and of the hash before it.

    Parameters
    ----------
    previous : str
        Hash of the entry before, 64 hexadecimal digits; "" for the first.
    content : mapping of str to JSON values
        What the entry says.

    Returns
    -------
    str
        SHA-256 (FIPS 180-4), 64 hexadecimal digits, of the previous hash, a line feed and the content as JSON with sorted keys.

    Source
    ------
    SHA-256: FIPS 180-4. Binding each entry to the one before: Haber & Stornetta 1991, J. Cryptology 3:99-111 (from memory).

    Examples
    --------
    >>> chain_sha256("", {})[:16]
    'a062dd4952b935e4'
    """
    return text_sha256(previous, canonical_text(content))


def canonical_text(content: object) -> str:
    """JSON values as the one text that is hashed: sorted keys, ASCII, no blanks.

    Source
    ------
    JSON: RFC 8259; the form is a definition of this program.

    Examples
    --------
    >>> canonical_text({"tree": "0132", "alive": None})
    '{"alive":null,"tree":"0132"}'
    """
    return _WRITER.encode(content)


def text_sha256(previous: str, text: str) -> str:
    """`chain_sha256` of content that was written as `canonical_text` before.

    Parameters
    ----------
    previous : str
        Hash of the entry before, 64 hexadecimal digits; "" for the first.
    text : str

    Returns
    -------
    str
        64 hexadecimal digits.

    Source
    ------
    As `chain_sha256`.

    Examples
    --------
    >>> text_sha256("", '{"alive":1}') == chain_sha256("", {"alive": 1})
    True
    """
    return hashlib.sha256(f"{previous}\n{text}".encode("ascii")).hexdigest()


def first_break(entries: Iterable[tuple[str, str, Mapping]]) -> Break | None:
    """The first entry that does not fit its chain, or None.

    Parameters
    ----------
    entries : iterable of (previous hash, own hash, content)
        In the order of the chain. Read once, one entry at a time.

    Returns
    -------
    Break or None
        The first entry that does not fit, counted from 1.

    Source
    ------
    As `chain_sha256`.
    """
    before = ""
    for number, (previous, own, content) in enumerate(entries, start=1):
        if previous != before:
            return Break(number, "its link to the entry before it is broken: an entry was removed, added or moved")
        if chain_sha256(previous, content) != own:
            return Break(number, "it was changed after it was written")
        before = own
    return None
