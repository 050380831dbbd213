"""The records of `export_book` go into an empty installation: all of them with their numbers, times and hashes, or nothing.

A door of its own beside `write`. The rows were written once and their hashes are in the audit trail that comes with them, so this adds no
entry. The database checks them as ever: its CHECKs, unique columns, references and triggers are on.
"""

import itertools
from pathlib import Path
from typing import NamedTuple

from django.apps import apps
from django.contrib.auth.hashers import make_password
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import Error, connection, transaction

from registry.disk.whole_files import PART, write_whole
from registry.models import AuditHead, Person
from registry.selectors.audit.book_cells import field_kind
from registry.selectors.audit.book_tables import COLUMNS_LEFT_OUT, book_tables
from registry.services.audit.book_folder import BookFolder, BookRefused
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write
from registry.services.shared.table_statistics import statistics_refresh

__all__ = ["Imported", "book_export_record", "book_load"]

_ROWS_AT_ONCE = 1_000
_BYTES = 1 << 20
_NOT_TAKEN = (Error, OverflowError)  # the second is that of SQLite's driver for a number of more than 64 bits


class Imported(NamedTuple):
    """How many rows and files were stored."""

    rows: int
    files: int


@write
def book_export_record(*, actor, folder, rows, sha256):
    """Record that somebody took all records out."""
    head = AuditHead.objects.get_or_create(pk=1)[0]
    changes = {"folder": [None, folder], "rows": [None, rows], "sha256": [None, sha256]}
    audit_record(actor=actor, verb="audithead.exported", obj=head, changes=changes)


def book_load(folder) -> Imported:
    """Store everything that a folder of `export_book` holds. Raises `BookRefused`, and then nothing is stored; and `OSError`."""
    folder = BookFolder(folder)
    with transaction.atomic():
        _check_empty()
        documents = list(folder.documents())
        _check_no_other_files({document.path for document in documents})
        AuditHead.objects.all().delete()  # an empty database has one of no entries
        rows = sum(_load_table(folder, table) for table in book_tables())
        _check_references(book_tables())
        _finish()
        placed = []
        try:
            for document in documents:
                target = Path(default_storage.location) / document.path
                if not target.exists():
                    placed.append(target)
                write_whole(target, _pieces(document.source))
            connection.check_constraints()
        except BaseException:
            for target in placed:
                target.unlink(missing_ok=True)
            raise
    return Imported(rows, len(documents))


def _check_empty():
    for table in book_tables():
        rows = table.model._base_manager.all()
        if (rows.exclude(entries=0) if table.model is AuditHead else rows).exists():
            raise BookRefused(
                f"There are records here already ({table.name}). Everything goes into an empty installation: point MASTBOOK_DATA_DIR and "
                "DATABASE_URL to an empty one and run manage.py migrate."
            )


def _check_no_other_files(paths):
    root = Path(default_storage.location)
    for path in root.rglob("*"):
        name = path.relative_to(root).as_posix()
        if path.is_file() and path.suffix != PART and name not in paths:
            raise BookRefused(f"There are uploaded files here already, such as {name}. Point MASTBOOK_DATA_DIR to an empty folder.")


def _load_table(folder, table):
    insert, stored = _Insert(table), 0
    rows = folder.rows(table)
    while chunk := list(itertools.islice(rows, _ROWS_AT_ONCE)):
        try:
            with transaction.atomic():
                insert([values for _number, values in chunk])
        except _NOT_TAKEN:
            _name_the_row(table, insert, chunk)
            raise
        stored += len(chunk)
    statistics_refresh(table.model)
    return stored


def _name_the_row(table, insert, chunk):
    for number, values in chunk:
        try:
            with transaction.atomic():
                insert([values])
        except _NOT_TAKEN as error:
            said = str(error).strip().split("\n")[0]
            raise BookRefused(f"{table.path}, row {number}: the database does not take it: {said}.") from error


class _Insert:
    """Inserts rows of a table by the driver's own fast way: COPY on PostgreSQL, `executemany` on SQLite."""

    def __init__(self, table):
        left_out = [field for field in table.model._meta.concrete_fields if field not in table.fields]
        self.filled = [_filling(table.model, field) for field in left_out]
        self.ready = [_ready(field) for field in table.fields]
        quote = connection.ops.quote_name
        columns = ", ".join(quote(field.column) for field in (*table.fields, *left_out))
        self.into = f"{quote(table.model._meta.db_table)} ({columns})"
        self.sql = f"INSERT INTO {self.into} VALUES ({', '.join(['%s'] * (len(table.fields) + len(left_out)))})"

    def __call__(self, rows):
        with connection.cursor() as cursor:
            if connection.vendor == "postgresql":
                with connection.wrap_database_errors, cursor.copy(f"COPY {self.into} FROM STDIN") as copy:
                    for row in rows:
                        copy.write_row(self._values(row))
            else:
                cursor.executemany(self.sql, map(self._values, rows))

    def _values(self, row):
        values = [value if ready is None else ready(value) for value, ready in zip(row, self.ready, strict=True)]
        return values + [fill() for fill in self.filled]


def _filling(model, field):
    """What goes into a column that is not in the folder."""
    if model is Person and field.name == "password":
        return lambda: make_password(None)
    raise LookupError(f"{model._meta.label}.{field.name} is left out ({COLUMNS_LEFT_OUT}): say in book_load what goes into it")


def _ready(field):
    """How the driver takes a value of a column; None where it takes it as it is."""
    kind = field_kind(field)
    if kind in {"day", "part_day", "moment", "decimal", "uuid", "json"}:
        return lambda value: None if value is None else field.get_db_prep_save(value, connection)
    return None


def _check_references(tables):
    """Names the first row that points to no row. The database would only say that there is one."""
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        for table in tables:
            for field in table.fields:
                if not field.related_model:
                    continue
                here, there = quote(table.model._meta.db_table), quote(field.related_model._meta.db_table)
                column, key = quote(field.column), quote(field.target_field.column)
                cursor.execute(
                    f"SELECT a.id, a.{column} FROM {here} a LEFT JOIN {there} b ON b.{key} = a.{column} "
                    f"WHERE a.{column} IS NOT NULL AND b.{key} IS NULL ORDER BY a.id LIMIT 1"
                )
                if found := cursor.fetchone():
                    pointed = next(one.path for one in tables if one.model is field.related_model)
                    raise BookRefused(
                        f"{table.path}, the row with id {found[0]}, column {field.attname}: {pointed} has no row with id {found[1]}."
                    )


def _finish():
    """The next row of each table gets a number that none of these has."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models(include_auto_created=True)):
            cursor.execute(statement)


def _pieces(path):
    with path.open("rb") as file:
        yield from iter(lambda: file.read(_BYTES), b"")
