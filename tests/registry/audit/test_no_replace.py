"""The trigger against INSERT OR REPLACE refuses exactly what the unique columns of its table refuse, on SQLite.

Source
------
SQLite itself: a copy of each table without the trigger decides by a plain INSERT.
"""

import random
import sqlite3

import pytest
from django.db import connection

from registry.models.append_only import no_replace_statement
from registry.selectors.audit.record_hashes import append_only_models

pytestmark = pytest.mark.one_database  # PostgreSQL has no INSERT OR REPLACE

PARTIAL = (
    'CREATE TABLE t (id INTEGER PRIMARY KEY, "a" integer NOT NULL, "b" varchar(9), "gone" bool NOT NULL)',
    'CREATE UNIQUE INDEX "t_open" ON "t" ("a") WHERE NOT "gone"',
    'CREATE UNIQUE INDEX "t_named" ON "t" ("a", "b") WHERE ("gone" AND NOT ("b" = \'\'))',
)


class _Connection:
    """What `no_replace_statement` needs of a connection of Django, over a database of the test."""

    vendor = "sqlite"

    def __init__(self, database):
        self.database = database

    def cursor(self):
        cursor = self.database.cursor()

        class Cursor:
            fetchone, fetchall = cursor.fetchone, cursor.fetchall

            def __enter__(self):
                return self

            def __exit__(self, *_error):
                cursor.close()

            def execute(self, sql, values=()):
                cursor.execute(sql.replace("%s", "?"), values)

        return Cursor()


def _database(statements):
    database = sqlite3.connect(":memory:", isolation_level=None)
    database.execute("PRAGMA ignore_check_constraints = ON")  # only what is unique is compared
    for statement in statements:
        database.execute(statement)
    return database


def _value(kind, is_required, rng):
    if not is_required and rng.random() < 0.3:
        return None
    if any(word in kind.lower() for word in ("char", "text", "date", "time")):
        return rng.choice(["", "a", "A"])
    return rng.choice([0, 1])


def _accepts(database, sql, row):
    try:
        database.execute(sql, row)
    except sqlite3.IntegrityError:
        return False
    return True


def _rows(database, table):
    return database.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()


def _differences(statements, table, tries=400):
    """([rows for which the trigger and the unique columns differ], how many rows were refused)."""
    plain, guarded = _database(statements), _database(statements)
    guarded.execute(no_replace_statement(_Connection(guarded), table))
    columns = guarded.execute(f"PRAGMA table_info({table})").fetchall()
    unique = {name for (name,) in guarded.execute(
        "SELECT i.name FROM pragma_index_list(?) l, pragma_index_info(l.name) i WHERE l.\"unique\"", [table]
    )}  # fmt: skip
    rng, wrong, refused = random.Random(1), [], 0
    into = f"INTO {table} VALUES ({', '.join('?' * len(columns))})"
    for _ in range(tries):
        row = [
            rng.choice([None, *range(1, 40)]) if column[1] == "id" else _value(column[2], column[3] or column[1] not in unique, rng)
            for column in columns
        ]
        expected = _accepts(plain, f"INSERT {into}", row)
        before = _rows(guarded, table)
        accepted = _accepts(guarded, f"INSERT OR REPLACE {into}", row)
        refused += not accepted
        if accepted != expected or not set(before) <= set(_rows(guarded, table)):
            wrong.append(row)
            break
    return wrong, refused


@pytest.mark.django_db
@pytest.mark.parametrize("table", sorted(model._meta.db_table for model in append_only_models()))
def test_the_trigger_refuses_what_unique_columns_refuse(table):
    with connection.cursor() as cursor:
        cursor.execute("SELECT sql FROM sqlite_master WHERE tbl_name = %s AND type IN ('table', 'index') AND sql IS NOT NULL", [table])
        statements = sorted((sql for (sql,) in cursor.fetchall()), key=lambda sql: not sql.startswith("CREATE TABLE"))
    wrong, refused = _differences(statements, table)
    assert wrong == [] and refused > 0


def test_a_partial_unique_index_of_another_column_is_partial():
    wrong, refused = _differences(PARTIAL, "t")
    assert wrong == [] and refused > 0


def test_a_row_outside_a_partial_index_goes_in_beside_one_in_it():
    database = _database(PARTIAL)
    database.execute(no_replace_statement(_Connection(database), "t"))
    assert _accepts(database, "INSERT INTO t VALUES (?, ?, ?, ?)", [1, 7, "", 0])
    assert _accepts(database, "INSERT INTO t VALUES (?, ?, ?, ?)", [2, 7, "", 1])
    assert not _accepts(database, "INSERT OR REPLACE INTO t VALUES (?, ?, ?, ?)", [3, 7, "", 0])
    assert _rows(database, "t") == [(1, 7, "", 0), (2, 7, "", 1)]


def test_a_unique_index_of_an_expression_cannot_be_protected():
    database = _database(['CREATE TABLE t (id INTEGER PRIMARY KEY, "a" text)', 'CREATE UNIQUE INDEX "t_lower" ON "t" (lower("a"))'])
    with pytest.raises(ValueError, match="t_lower"):
        no_replace_statement(_Connection(database), "t")
