"""The database of a backup: one consistent state of it, taken while Mastbook is in use, and how it goes into an empty database.

SQLite: its own online backup, which holds up nobody and gives back the same file. PostgreSQL: COPY of each table as text in one
read-only transaction, through the driver Mastbook uses anyway. pg_dump must be at least as new as the server, and the machine of the
server often has none.
"""

import contextlib
import sqlite3
from pathlib import Path

from django.apps import apps
from django.core.management.color import no_style
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django_tasks_db.models import DBTaskResult

from registry.models.append_only import protect_statements, unprotect_statements
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.audit.record_hashes import append_only_models

__all__ = ["DATABASE", "database_load", "database_snapshot"]

DATABASE = "database/"  # names of the archive that hold it
_FILE = f"{DATABASE}mastbook.sqlite3"
# left out: whoever has the backup could go on as the people who were signed in; long work of before would run by itself
_LEFT_OUT = ("django_session", DBTaskResult._meta.db_table)
_BYTES = 1 << 20


@contextlib.contextmanager
def database_snapshot(members, folder):
    """Put one state of the database into `members`; `folder` takes a temporary copy. Yields what the manifest says of it."""
    take = _take_postgresql if connection.vendor == "postgresql" else _take_sqlite
    with take(members, Path(folder)) as said:
        yield {"vendor": connection.vendor, **said}


@contextlib.contextmanager
def _take_sqlite(members, folder):
    copy = folder / "snapshot.sqlite3"
    with contextlib.closing(_open(connection.settings_dict["NAME"])) as source, contextlib.closing(_open(copy)) as target:
        source.backup(target)
        target.execute("PRAGMA journal_mode=DELETE")
        target.execute("PRAGMA secure_delete=ON")
        there = {name for (name,) in target.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in there.intersection(_LEFT_OUT):  # a database may be backed up before `migrate` brings it up to date
            target.execute(f"DELETE FROM {table}")
        target.commit()
        head = target.execute("SELECT entries, sha256 FROM registry_audithead").fetchone()
        applied = target.execute("SELECT app, name FROM django_migrations ORDER BY id").fetchall()
    with copy.open("rb") as file:
        members.add(_FILE, iter(lambda: file.read(_BYTES), b""))
    copy.unlink()
    yield _said(head, applied)


def _open(path):
    return sqlite3.connect(path, timeout=20)


@contextlib.contextmanager
def _take_postgresql(members, folder):
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        head = chain_head()
        applied = MigrationRecorder.Migration.objects.order_by("id").values_list("app", "name")
        said = _said(head, applied) | {"columns": {}}
        for table in sorted(connection.introspection.table_names(cursor)):
            if table not in _LEFT_OUT:
                columns = [column.name for column in connection.introspection.get_table_description(cursor, table)]
                said["columns"][table] = columns
                with cursor.copy(f"COPY {_table_words(table, columns)} TO STDOUT") as rows:
                    members.add(f"{DATABASE}{table}.copy", (bytes(piece) for piece in rows))
    yield said


def _said(head, applied):
    entries, sha256 = head or (0, "")
    return {"head": {"entries": entries, "sha256": sha256}, "migrations": [f"{app}.{name}" for app, name in applied]}


def _table_words(table, columns):
    quote = connection.ops.quote_name
    return f"{quote(table)} ({', '.join(map(quote, columns))})"


def database_load(said, read, folder):
    """Put the database of a backup into one without records, all of it or nothing.

    `read(name)` gives the pieces of a name of the archive; `folder` takes a temporary copy.
    """
    if said["vendor"] == "postgresql":
        _load_postgresql(said, read)
    else:
        _load_sqlite(read, Path(folder))


def _load_sqlite(read, folder):
    copy = folder / "snapshot.sqlite3"
    with copy.open("wb") as file:
        file.writelines(read(_FILE))
    connection.close()
    with contextlib.closing(_open(copy)) as source, contextlib.closing(_open(connection.settings_dict["NAME"])) as target:
        source.backup(target)  # one transaction: a program that is killed leaves the database as it was
    copy.unlink()


def _load_postgresql(said, read):
    tables_migrate(said["migrations"])
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        tables = said["columns"]
        _empty(cursor, tables)  # of what migrations put in
        for table, columns in tables.items():
            with cursor.copy(f"COPY {_table_words(table, columns)} FROM STDIN") as rows:
                for piece in read(f"{DATABASE}{table}.copy"):
                    rows.write(piece)
        for statement in connection.ops.sequence_reset_sql(no_style(), apps.get_models(include_auto_created=True)):
            cursor.execute(statement)


def _empty(cursor, tables):
    """Empty tables that may be append-only. Their triggers stand aside inside the transaction; the rows that follow are inserts."""
    protected = [model._meta.db_table for model in append_only_models() if model._meta.db_table in tables]
    for table in protected:
        for statement in unprotect_statements(table, connection.vendor):
            cursor.execute(statement)
    cursor.execute(f"TRUNCATE {', '.join(map(connection.ops.quote_name, tables))} CASCADE")
    for table in protected:
        for statement in protect_statements(table, connection.vendor):
            cursor.execute(statement)


def tables_migrate(labels):
    """Bring an empty database to the migrations ["app.name", …] that another one had run; it may be of an earlier version.

    That one may have stopped between migrations which a single one now replaces; then they are run one by one.
    """
    executor = MigrationExecutor(connection)
    run = {tuple(label.split(".", 1)) for label in labels}
    replacing = {key: set(migration.replaces) for key, migration in executor.loader.replacements.items()}
    if any(replaced & run and replaced - run for replaced in replacing.values()):
        executor.loader = MigrationLoader(connection, replace_migrations=False)
        run -= replacing.keys()
    else:
        run |= {key for key, replaced in replacing.items() if replaced <= run}
    nodes = {key: node for key, node in executor.loader.graph.node_map.items() if key in run}
    executor.migrate([key for key, node in nodes.items() if not any(child.key in nodes for child in node.children)])
