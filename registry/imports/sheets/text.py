"""Cells as text: what a person reads in a cell, and a text that no spreadsheet runs as a formula."""

import datetime
import re

from registry.calc.shared.hidden_signs import hidden_sign

_FORMULA_STARTS = tuple("=+-@\t\r\n＝＋－＠")
_LINE_BREAK = re.compile(r"\s*[\r\n]\s*")
_NEGATIVE = re.compile(r"-[0-9]+([.,][0-9]+)?")


def safe_text(value):
    """A text cell that a spreadsheet shows and does not run (OWASP, CSV Injection). Numbers stay numbers."""
    if isinstance(value, str) and value.lstrip("'").startswith(_FORMULA_STARTS) and not _NEGATIVE.fullmatch(value):
        return "'" + value
    return value


def undefused(text):
    """A text without the ' that `safe_text` put before it."""
    return text[1:] if text[:1] == "'" and text.lstrip("'").startswith(_FORMULA_STARTS) else text


def text_fault(text):
    """What keeps a text from being stored; "" for any text that somebody can type and read. JSON can name characters that no text has."""
    if "\0" in text:
        return "holds a null character; remove it"
    try:
        text.encode()
    except UnicodeEncodeError:
        return "holds half of a character; write it again"
    found = hidden_sign(text)
    return f"holds a sign that cannot be seen ({found['sign']}, after “{found['before']}”); type it again" if found else ""


def cell_text(value):
    """A cell as the text a person reads in it; a spreadsheet stores the tag 12 as 12.0, and a day as a moment."""
    if isinstance(value, bool):
        return str(value).upper()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return "" if value is None else undefused(str(value).strip()).strip()


def header_text(value):
    """A header as one line: a spreadsheet breaks long headers over lines, a mapping and a CSV of the same sheet write a space."""
    return _LINE_BREAK.sub(" ", cell_text(value))


def is_filled(value):
    """Whether a cell holds anything but blanks."""
    return value is not None and value != "" and (not isinstance(value, str) or bool(value.strip()))
