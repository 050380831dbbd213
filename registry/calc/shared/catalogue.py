"""The list of translated texts (gettext's .po) and the form in which Python reads it (.mo), without the tools of gettext.

Source
------
GNU gettext manual, chapter 10, "The Format of PO Files" and "The Format of GNU MO Files", from memory; the part of both that Mastbook uses:
no obsolete entries. tests/project/test_catalogue.py reads the result back with Python's own gettext.
"""

import ast
import re
import struct
from collections.abc import Iterable
from typing import NamedTuple

_MAGIC = 0x950412DE
_HEADER_BYTES = 28
_AFTER_CONTEXT = "\4"


class Entry(NamedTuple):
    """A text and its translation.

    Attributes
    ----------
    text, plural : str
        As in the source; `plural` is "" for a text without one.
    translated : tuple[str, ...]
        One text, or singular and plural; blank while nobody has translated it.
    places : tuple[str, ...]
        The files that hold the text.
    context : str
        What the text is said of, where the same English needs another translation there; "" elsewhere.
    """

    text: str
    plural: str = ""
    translated: tuple[str, ...] = ("",)
    places: tuple[str, ...] = ()
    context: str = ""

    @property
    def is_translated(self) -> bool:
        return all(self.translated)


def po_read(words: str) -> tuple[str, list[Entry]]:
    """(the head of a .po file, its entries).

    Raises
    ------
    ValueError
        A line that is neither a comment nor a part of an entry, or a file without its head.

    Examples
    --------
    >>> head, entries = po_read('msgid ""\\nmsgstr "A: b\\\\n"\\n\\n#: a.py\\nmsgid "Dead"\\nmsgstr "Mort"\\n')
    >>> head, entries[0].text, entries[0].translated
    ('A: b\\n', 'Dead', ('Mort',))
    """
    entries = [_entry(block) for block in re.split(r"\n{2,}", words.strip()) if block]
    if not entries or entries[0].text:
        raise ValueError("The list of texts has no head: its first entry must be an empty msgid.")
    return entries[0].translated[0], entries[1:]


def _entry(block: str) -> Entry:
    parts: dict[str, str] = {}
    places: list[str] = []
    name = ""
    for line in block.splitlines():
        if line.startswith("#"):
            places += line[3:].split() if line.startswith("#: ") else []
            continue
        found = re.fullmatch(r'(?:(msgctxt|msgid|msgid_plural|msgstr(?:\[\d\])?) )?(".*")', line)
        if not found or not (found[1] or name):
            raise ValueError(f"This line of the list of texts cannot be read: {line}")
        name = found[1] or name
        parts[name] = parts.get(name, "") + ast.literal_eval(found[2])
    translated = tuple(text for key, text in sorted(parts.items()) if key.startswith("msgstr"))
    return Entry(parts.get("msgid", ""), parts.get("msgid_plural", ""), translated, tuple(places), parts.get("msgctxt", ""))


def po_text(head: str, entries: Iterable[Entry]) -> str:
    """A .po file, its entries sorted by the file that holds them first.

    Examples
    --------
    >>> print(po_text("A: b\\n", [Entry("%(n)s day", "%(n)s days", ("%(n)s jour", "%(n)s jours"), ("a.py",))]))
    msgid ""
    msgstr ""
    "A: b\\n"
    <BLANKLINE>
    #: a.py
    msgid "%(n)s day"
    msgid_plural "%(n)s days"
    msgstr[0] "%(n)s jour"
    msgstr[1] "%(n)s jours"
    <BLANKLINE>
    """
    first = "\n".join(['msgid ""', 'msgstr ""', *(_quoted(f"{line}\n") for line in head.splitlines())])
    blocks = [_block(entry) for entry in sorted(entries, key=lambda entry: (entry.places, entry.text, entry.context))]
    return "\n\n".join([first, *blocks]) + "\n"


def _block(entry: Entry) -> str:
    lines = [f"#: {place}" for place in entry.places]
    lines += [f"msgctxt {_quoted(entry.context)}"] if entry.context else []
    lines += [f"msgid {_quoted(entry.text)}"]
    if not entry.plural:
        return "\n".join([*lines, f"msgstr {_quoted(entry.translated[0])}"])
    texts = [f"msgstr[{number}] {_quoted(text)}" for number, text in enumerate(entry.translated)]
    return "\n".join([*lines, f"msgid_plural {_quoted(entry.plural)}", *texts])


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    return f'"{escaped}"'


def mo_bytes(head: str, entries: Iterable[Entry]) -> bytes:
    """The same as Python's gettext reads it: numbers, two tables of (length, place), the texts. What nobody has translated is left out.

    Examples
    --------
    >>> import gettext, io
    >>> made = mo_bytes("Content-Type: text/plain; charset=UTF-8\\n", [Entry("Dead", translated=("Mort",))])
    >>> gettext.GNUTranslations(io.BytesIO(made)).gettext("Dead")
    'Mort'
    """
    pairs = [("", head)]
    for entry in entries:
        if entry.is_translated:
            named = entry.context + _AFTER_CONTEXT if entry.context else ""
            pairs.append((named + "\0".join(filter(None, (entry.text, entry.plural))), "\0".join(entry.translated)))
    encoded = sorted((source.encode(), text.encode()) for source, text in pairs)
    sources, texts = zip(*encoded, strict=True)
    count = len(encoded)
    tables = [_HEADER_BYTES, _HEADER_BYTES + 8 * count]
    body, lengths = b"", []
    for text in (*sources, *texts):
        lengths += [len(text), _HEADER_BYTES + 16 * count + len(body)]
        body += text + b"\0"
    return struct.pack("<7I", _MAGIC, 0, count, *tables, 0, 0) + struct.pack(f"<{len(lengths)}I", *lengths) + body
