"""The folder that `export_book` wrote, read without trust: hashes first, then its description, then cell by cell."""

import contextlib
import csv
import hashlib
import json
import re
import sys
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from registry.calc.shared.screen import amount_words
from registry.selectors.audit.book_cells import CellFault, cell_reader
from registry.selectors.audit.book_tables import DESCRIPTOR, DOCUMENTS, DOCUMENTS_FIELDS, FORMAT, MANIFEST, book_tables, tables_edition

__all__ = ["BookFolder", "BookRefused", "Document"]

_LINE = re.compile(r"([0-9a-f]{64})  (.+)")


class BookRefused(Exception):
    """Why nothing was imported, in words."""


class Document(NamedTuple):
    """A file of the folder and its place in the data folder of Mastbook."""

    path: str
    source: Path


class BookFolder:
    """A complete and unchanged folder of this version of the program. Raises `BookRefused` for any other."""

    def __init__(self, root):
        self.root = Path(root)
        self._check_hashes()
        self._check_description()

    def rows(self, table):
        """(number of the row as a spreadsheet counts, values by column) of a table, as a stream."""
        readers = [cell_reader(field) for field in table.fields]
        for number, cells in self._cells(table.path, table.columns):
            try:
                yield number, [reader(cell) for reader, cell in zip(readers, cells, strict=True)]
            except CellFault:
                column, fault = _first_fault(table.columns, readers, cells)
                raise BookRefused(f"{table.path}, row {number}, column {column}: {fault}.") from None

    def documents(self):
        """Every `Document`; those that were gone when the folder was written have no file."""
        path = f"tables/{DOCUMENTS}.csv"
        for number, (target, sha256, document, _record) in self._cells(path, tuple(field["name"] for field in DOCUMENTS_FIELDS)):
            if not document:
                continue
            if not _is_below(target):
                raise BookRefused(f"{path}, row {number}, column path: “{target}” leads out of the data folder.")
            if self.hashes.get(document) != sha256 or not document.startswith(f"{DOCUMENTS}/"):
                raise BookRefused(f"{path}, row {number}, column document: the file {document} is missing, or its hash is not {sha256}.")
            yield Document(target, self.root / document)

    def _check_hashes(self):
        if not self.root.is_dir():
            raise BookRefused(f"{self.root} is not a folder. Name the folder that manage.py export_book wrote.")
        self.hashes = self._listed_hashes()
        there = {path.relative_to(self.root).as_posix() for path in self.root.rglob("*") if not path.is_dir()} - {MANIFEST}
        if gone := sorted(self.hashes.keys() - there):
            raise BookRefused(f"{_names(gone)}: {MANIFEST} lists it, and it is not in the folder. Copy the complete folder again.")
        if more := sorted(there - self.hashes.keys()):
            raise BookRefused(f"{_names(more)}: it is in the folder, and {MANIFEST} does not list it. Take it out.")
        for path, sha256 in self.hashes.items():
            with (self.root / path).open("rb") as file:
                if hashlib.file_digest(file, "sha256").hexdigest() != sha256:
                    raise BookRefused(f"{path} was changed after the export: its SHA-256 is not that of {MANIFEST}.")

    def _listed_hashes(self):
        path = self.root / MANIFEST
        if not path.is_file():
            raise BookRefused(f"There is no {MANIFEST} in {self.root}. Name the folder that manage.py export_book wrote.")
        hashes = {}
        for number, line in enumerate(_utf8(path).splitlines(), start=1):
            found = _LINE.fullmatch(line)
            if not found or not _is_below(found[2]):
                raise BookRefused(f"{MANIFEST}, row {number}: it is not a hash and the name of a file in the folder.")
            hashes[found[2]] = found[1]
        if DESCRIPTOR not in hashes:
            raise BookRefused(f"{MANIFEST} does not list {DESCRIPTOR}. Name the folder that manage.py export_book wrote.")
        return hashes

    def _check_description(self):
        try:
            said = json.loads(_utf8(self.root / DESCRIPTOR))
            ours, resources = said["mastbook"], {resource["name"]: resource["path"] for resource in said["resources"]}
            form, edition = ours["format"], ours["tables"]
        except (ValueError, KeyError, TypeError, RecursionError) as error:
            raise BookRefused(f"{DESCRIPTOR} does not describe a folder of manage.py export_book.") from error
        if form != FORMAT:
            raise BookRefused(f"The folder has the form {form!r}, this program reads {FORMAT}. Import it with the version that wrote it.")
        if edition != tables_edition():
            theirs, mine = (" and ".join(map(str, one.values())) if isinstance(one, dict) else one for one in (edition, tables_edition()))
            raise BookRefused(
                f"Another version of Mastbook wrote this folder: its tables are those of {theirs}, this version has {mine}. Import it with "
                "the version that wrote it, and upgrade then."
            )
        known = {table.name: table.path for table in book_tables()} | {DOCUMENTS: f"tables/{DOCUMENTS}.csv"}
        wrong = sorted({name for name in known.keys() | resources.keys() - {"places"} if known.get(name) != resources.get(name)})
        if wrong:
            raise BookRefused(f"{DESCRIPTOR}: {_names(wrong)}: this version has other tables. Import it with the version that wrote it.")
        if unlisted := sorted(set(known.values()) - self.hashes.keys()):
            raise BookRefused(f"{_names(unlisted)}: {MANIFEST} does not list it. Copy the complete folder again.")

    def _cells(self, path, columns):
        """(number, cells) of each row below the head."""
        with _any_size(), (self.root / path).open(encoding="utf-8", newline="") as file:
            rows, number = csv.reader(file, strict=True), 0
            try:
                for number, cells in enumerate(rows, start=1):
                    if number == 1:
                        _check_head(path, tuple(cells), columns)
                    elif len(cells) != len(columns):
                        raise BookRefused(f"{path}, row {number}: {_width_fault(len(cells), len(columns))}.")
                    else:
                        yield number, cells
            except csv.Error as error:
                raise BookRefused(f"{path}, row {number + 1}: it cannot be read as CSV ({error}).") from error
            except UnicodeDecodeError as error:
                raise BookRefused(f"{path}, row {number + 1} or later: the file is not UTF-8.") from error
            if not number:
                raise BookRefused(f"{path} is empty: the line with the names of the columns is missing.")


def _width_fault(found, expected):
    if found < expected:
        return f"it has a cell in {found} of {amount_words(expected, 'columns')}: the row was cut off"
    return f"it has more cells than the {amount_words(expected, 'columns')}: a cell lost its quotation marks"


def _check_head(path, found, columns):
    if found == columns:
        return
    if unknown := [name for name in found if name not in columns]:
        raise BookRefused(f"{path}, row 1: this version has no column “{unknown[0]}”. Its columns are {', '.join(columns)}.")
    if missing := [name for name in columns if name not in found]:
        raise BookRefused(f"{path}, row 1: the column “{missing[0]}” is missing.")
    raise BookRefused(f"{path}, row 1: the columns are in another order, or one is there twice. They are {', '.join(columns)}.")


def _first_fault(columns, readers, cells):
    for column, reader, cell in zip(columns, readers, cells, strict=True):
        try:
            reader(cell)
        except CellFault as fault:
            return column, fault
    raise AssertionError("called only after a cell could not be read")


@contextlib.contextmanager
def _any_size():
    """Answers of the gate with their facts are longer than the longest cell that the reader of CSV takes by itself."""
    before = csv.field_size_limit(sys.maxsize)
    try:
        yield
    finally:
        csv.field_size_limit(before)


def _utf8(path):
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise BookRefused(f"{path.name} is not UTF-8.") from error


def _is_below(path):
    """Whether a path stays inside its folder."""
    parts = PurePosixPath(path).parts
    return bool(parts) and ".." not in parts and not path.startswith("/") and "\\" not in path and "\0" not in path


def _names(paths):
    return f"{', '.join(paths[:5])}{' …' if len(paths) > 5 else ''}"
