"""The permit file and the yearly report of a paper, drawn from sections of plain values."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from registry.calc.shared.part_dates import SomeDate
from registry.calc.shared.screen import day_words, moment_words
from registry.prints.document import Alert, Document, Facts, Map, Notes, Part, Table, TableColumn

AUTHORITY = "Check with the local authority. This file says what is recorded; it does not say what is allowed."
REPORT_DRAFT = "DRAFT: to be read and sent by a person"


@dataclass(frozen=True, slots=True)
class FileColumn:
    """A column of a section.

    `kind` is "", "code", "latin", "number", "date" or "moment"; `weight` its share of the width of the page; `only` is "read" for a
    column that is printed and shown, "file" for one that is in the downloaded table, and "" for both.
    """

    label: str
    weight: float = 1
    kind: str = ""
    only: str = ""

    @property
    def align(self) -> str:
        return "right" if self.kind == "number" else "left"


@dataclass(frozen=True, slots=True)
class FileSection:
    """A section of a file: rows of plain values, shown on the page, printed, and downloaded as a table of its own.

    `name` is that of its table among the files. `route` and `keys` (one a row, or None) say where the first column leads on the
    page. `printed_rows` and `page_rows` are how many of the rows are printed and shown.
    """

    name: str
    title: str
    columns: tuple[FileColumn, ...]
    rows: Sequence[tuple]
    note: str = ""
    empty: str = "Nothing recorded."
    route: str = ""
    keys: Sequence[int | None] = ()
    printed_rows: int = 5_000
    page_rows: int = 100

    def columns_for(self, use: str) -> tuple[tuple[FileColumn, ...], tuple[int, ...]]:
        """The columns for "read" or "file", and their places in a row."""
        kept = [(column, place) for place, column in enumerate(self.columns) if column.only in ("", use)]
        return tuple(column for column, _place in kept), tuple(place for _column, place in kept)


def value_words(value: object) -> str:
    """A value as it is printed.

    Examples
    --------
    >>> [value_words(value) for value in (1204, None, True, datetime.date(2026, 10, 12), "x")]
    ['1,204', '', 'yes', '12 Oct 2026', 'x']
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return f"{value:,}"
    if isinstance(value, datetime.datetime):
        return f"{moment_words(value)}"
    if isinstance(value, SomeDate):
        return f"{day_words(value)}"
    return str(value)


def section_table(section: FileSection) -> Table:
    """A section as a table of the print; its note says what is left off."""
    kept, places = section.columns_for("read")
    columns = tuple(
        TableColumn(column.label, column.weight, column.align, column.kind if column.kind in ("code", "latin") else "") for column in kept
    )
    rows = tuple(tuple(value_words(row[place]) for place in places) for row in section.rows[: section.printed_rows])
    left_off = len(section.rows) - len(rows)
    note = (
        f"{section.note} The first {len(rows):,} of {len(section.rows):,}; {section.name}.csv has all.".strip()
        if left_off
        else section.note
    )
    return Table(f"{section.title}: {len(section.rows):,}", columns, rows, note, section.empty)


def permit_file_document(
    *, facts: tuple[tuple[str, str], ...], texts: Sequence[tuple[str, str]], account: FileSection, sections: Sequence[FileSection],
    odd: tuple[str, ...], rule: str, maps: Sequence[Map] = (), **head,
) -> Document:  # fmt: skip
    """The file of one paper.

    Parameters
    ----------
    facts : pairs of label and value
        Of the paper.
    texts : pairs of title and text
        What it says, as written.
    account : FileSection
        Its quantities.
    sections : sequence of FileSection
        The other sections, in their order.
    odd : tuple of str
        What does not add up or is missing, printed before everything else.
    rule : str
        Which items the file counts as under the paper.
    maps : sequence of Map
        Where it is planted; none where no place is known.
    **head
        title, code, scan, made_on and made, as of `Document`.
    """
    counts = tuple((section.title, f"{len(section.rows):,}") for section in sections)
    parts: list[Part] = [
        Notes("", (AUTHORITY, rule)),
        *([Alert("Look at this first", odd)] if odd else []),
        Facts(facts, title="The paper", columns=2),
        *(Notes(title, tuple(text.splitlines())) for title, text in texts if text),
        _uncounted_table(account),
        Facts(counts, title="What is in this file", columns=3, label_share=0.75),
        *maps,
        *(section_table(section) for section in sections),
    ]
    return Document(parts=tuple(parts), subtitle="Everything recorded under this paper.", **head)


def year_report_document(
    *, facts: tuple[tuple[str, str], ...], account: FileSection, sections: Sequence[FileSection], to_write: tuple[str, ...], **head
) -> Document:
    """The draft of a yearly report: its numbers are filled in, what a person has to write is left open.

    Parameters
    ----------
    facts, account, sections, **head
        As of `permit_file_document`.
    to_write : tuple of str
        What is not recorded and a person has to write.
    """
    parts: list[Part] = [
        Notes("", (AUTHORITY,)),
        Facts(facts, title="The paper", columns=2),
        _uncounted_table(account),
        *(section_table(section) for section in sections),
        Notes("To be written by a person", to_write),
    ]
    return Document(parts=tuple(parts), draft=REPORT_DRAFT, **head)


def _uncounted_table(section):
    table = section_table(section)
    return Table(section.title, table.columns, table.rows, table.note, table.empty)
