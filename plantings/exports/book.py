"""All records as a folder that anybody can read without Mastbook, and that Mastbook reads into an empty place again.

Tables are CSV, one for each record type, with a descriptor of the Data Package standard; places also as a GeoPackage; the files that
people sent by their SHA-256; a README; and a list of hashes. The same records always give the same bytes: nothing in it is of the day of
the export. Rows and files are written as they are read, so the memory does not grow with the records.
"""

import csv
import hashlib
import json
import os
import re
import secrets
import shutil
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from django.core.files.storage import default_storage

from plantings.exports.book_places import PLACES, places_write
from plantings.exports.book_readme import readme_text
from registry.disk.whole_files import PART
from registry.selectors.audit.book_cells import cell_writer
from registry.selectors.audit.book_schema import table_schema, table_words
from registry.selectors.audit.book_tables import (
    DESCRIPTOR,
    DOCUMENTS,
    DOCUMENTS_FIELDS,
    FORMAT,
    MANIFEST,
    README,
    book_tables,
    tables_edition,
)
from registry.selectors.audit.one_state import one_state
from registry.selectors.audit.stored_files import named_files
from registry.services.shared.progress import progress

__all__ = ["Exported", "FolderTaken", "book_export"]

_BYTES = 1 << 20
_SAID_EVERY = 2_000  # rows
_PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_ENDING = re.compile(r"\.[A-Za-z0-9]{1,8}")
_DIALECT = {"delimiter": ",", "quoteChar": '"', "doubleQuote": True, "lineTerminator": "\\r\\n", "header": True}


class FolderTaken(Exception):
    """Why nothing was written, in words."""


class Exported(NamedTuple):
    """How many rows, tables and files were written, the SHA-256 of the list of hashes, and the files that were not there."""

    rows: int
    tables: int
    files: int
    sha256: str
    missing: list[str]


def book_export(folder) -> Exported:
    """Write all records into a new folder, from one state of the database. It is complete or absent.

    Raises `FolderTaken` for a folder with something in it, and `OSError`; nothing is left then.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FolderTaken(f"{folder} exists already and is not empty. Name a new folder.")
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = folder.with_name(f".{folder.name}.{secrets.token_hex(8)}{PART}")
    part.mkdir(mode=0o700)  # it holds names, addresses and exact places
    try:
        with one_state():
            exported = _Folder(part).write()
        os.replace(part, folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
    return exported


class _Folder:
    """The folder while it is written; notes the hash and the size of each file."""

    def __init__(self, root):
        self.root, self.hashes, self.sizes, self.rows, self.missing = root, {}, {}, {}, []

    def write(self):
        resources = [self._table(table) for table in book_tables()]
        resources += [self._documents()]
        if places_write(self.root / PLACES):
            self._note(PLACES)
            resources.append({"name": "places", "path": PLACES, "format": "gpkg", "mediatype": "application/geopackage+sqlite3"})
            resources[-1] |= self._content(PLACES)
        self._text(DESCRIPTOR, json.dumps(_descriptor(resources), indent=1, ensure_ascii=False) + "\n")
        self._text(README, readme_text(self.rows))
        self._text(MANIFEST, "".join(f"{self.hashes[path]}  {path}\n" for path in sorted(self.hashes)))
        files = sum(1 for path in self.hashes if path.startswith(f"{DOCUMENTS}/"))
        rows = sum(count for name, count in self.rows.items() if name != DOCUMENTS)
        return Exported(rows, len(book_tables()), files, self.hashes[MANIFEST], self.missing)

    def _table(self, table):
        writers = [(place, writer) for place, field in enumerate(table.fields) if (writer := cell_writer(field))]
        total = table.model._base_manager.count()
        self._csv(table.path, table.name, table.columns, _as_text(table.rows(), writers), total)
        schema = table_schema(table)
        return self._resource(table.name, table.path, table.model._meta.verbose_name, table_words(table), schema)

    def _documents(self):
        """The files that records name, each content once, and the table of their places in the data folder."""
        path = f"tables/{DOCUMENTS}.csv"
        self._csv(path, DOCUMENTS, [field["name"] for field in DOCUMENTS_FIELDS], self._copied())
        about = "The files that people sent: where each belongs in the data folder of Mastbook, and its file in this folder."
        schema = {"fields": DOCUMENTS_FIELDS, "missingValues": [""], "primaryKey": ["path"]}
        return self._resource(DOCUMENTS, path, "files", about, schema)

    def _copied(self):
        by_sha256, seen = {}, set()
        for named in named_files():
            if named.path in seen:
                continue
            seen.add(named.path)
            target = self.root / DOCUMENTS / f"{secrets.token_hex(8)}{PART}"
            sha256 = _copy(named, target)
            if sha256 is None:
                self.missing.append(str(named))
                yield named.path, named.sha256, "", str(named.record)
                continue
            if sha256 not in by_sha256:
                ending = PurePosixPath(named.path).suffix or PurePosixPath(str(named.record)).suffix
                by_sha256[sha256] = f"{DOCUMENTS}/{sha256}{ending.lower() if _ENDING.fullmatch(ending) else ''}"
                os.replace(target, self.root / by_sha256[sha256])
                self.hashes[by_sha256[sha256]] = sha256
            else:
                target.unlink()
            yield named.path, sha256, by_sha256[sha256], str(named.record)

    def _csv(self, path, name, columns, rows, total=0):
        target = self.root / path
        target.parent.mkdir(exist_ok=True)
        with open(target, "w", encoding="utf-8", newline="") as file:
            counted = _Counted(rows, f"Writing {name}", total)
            writer = csv.writer(file, lineterminator="\r\n")
            writer.writerow(columns)
            writer.writerows(counted)
        self._note(path)
        self.rows[name] = counted.count

    def _resource(self, name, path, title, about, schema):
        return {
            "name": name, "path": path, "title": str(title), "description": about, "type": "table", "format": "csv",
            "mediatype": "text/csv", "encoding": "utf-8", "dialect": _DIALECT, "rows": self.rows[name], **self._content(path),
            "schema": schema,
        }  # fmt: skip

    def _content(self, path):
        return {"bytes": self.sizes[path], "hash": f"sha256:{self.hashes[path]}"}

    def _text(self, path, text):
        (self.root / path).write_text(text, encoding="utf-8", newline="")
        self._note(path)

    def _note(self, path):
        """The hash and the size of a complete file."""
        with (self.root / path).open("rb") as file:
            self.hashes[path], self.sizes[path] = hashlib.file_digest(file, "sha256").hexdigest(), os.fstat(file.fileno()).st_size


class _Counted:
    def __init__(self, rows, words, total):
        self.rows, self.words, self.total, self.count = rows, words, total, 0

    def __iter__(self):
        for row in self.rows:
            if not self.count % _SAID_EVERY:
                progress(self.words, self.count, self.total, "rows")
            self.count += 1
            yield row


def _as_text(rows, writers):
    for row in rows:
        cells = list(row)
        for place, writer in writers:
            cells[place] = writer(cells[place])
        yield cells


def _copy(named, target):
    """Copy a file that a record names; its hash, or None where it is not there or is not what it was."""
    found = hashlib.sha256()
    target.parent.mkdir(exist_ok=True)
    try:
        with default_storage.open(named.path) as source, target.open("wb") as file:
            for piece in source.chunks(_BYTES):
                found.update(piece)
                file.write(piece)
    except FileNotFoundError:
        return None
    if named.sha256 and found.hexdigest() != named.sha256:
        target.unlink()
        return None
    return found.hexdigest()


def _descriptor(resources):
    return {
        "$schema": _PROFILE,
        "name": "mastbook-records",
        "title": "Records of a tree-breeding programme and its plantings",
        "description": f"All records of a Mastbook site. Start with {README}.",
        "mastbook": {"format": FORMAT, "tables": tables_edition()},
        "resources": resources,
    }
