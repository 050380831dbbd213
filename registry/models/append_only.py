"""Records that never change: the program stores them in one way, and the database refuses to change or delete them.

The SQL of the triggers is for SQLite and PostgreSQL; migrations call `protect` and `protect_again`.
"""

import re

from django.db import models
from django.db.models import Exists, OuterRef

from registry.access.scoping import ScopedQuerySet


class NotAppended(RuntimeError):
    """A record that never changes was stored past `append_row`, so the audit trail would not hold its hash."""

    def __init__(self, model):
        super().__init__(f"{model.__name__} is append-only. Store it with append_row or append_rows, in a service marked @write.")


class AppendOnlyQuerySet(ScopedQuerySet):
    def bulk_create(self, *args, **kwargs):
        raise NotAppended(self.model)


class AppendOnly(models.Model):
    """A record that never changes. A correction is a new record.

    `save`, `create` and `bulk_create` are refused: only `append_row` and its like (`registry.services.audit.trail`) store one, since
    they also put its hash into the audit trail, in the same transaction. Triggers refuse UPDATE and DELETE.
    """

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args, **kwargs):
        raise NotAppended(type(self))


class InForce(models.Manager.from_queryset(AppendOnlyQuerySet)):
    """Without the records of withdrawn loads, which `WithdrawnRow` names. Links lead to all of them, by Django's base manager."""

    def get_queryset(self):
        column = self.model._meta.get_field("withdrawal").field
        withdrawn = column.model._base_manager.filter(**{column.name: OuterRef("pk")})
        return super().get_queryset().filter(~Exists(withdrawn))


class Withdrawable(AppendOnly):
    """A record that never changes, and that counts nowhere once the load that brought it was withdrawn: no figure, page or sheet has it,
    and the same row may be loaded again."""

    objects = InForce()

    class Meta:
        abstract = True


_POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION mastbook_refuse_change() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'table % is append-only: correct with a new record', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$ LANGUAGE plpgsql"""


# {end of the name: (what it refuses, its pg_trigger.tgtype)}; 27: before UPDATE and DELETE, for each row; 34: before TRUNCATE
_POSTGRES_TRIGGERS = {"append_only": ("UPDATE and DELETE", 27), "no_truncate": ("TRUNCATE", 34)}


def protect_statements(table, vendor):
    """SQL statements that protect `table` on the database vendor ('sqlite' or 'postgresql')."""
    if vendor == "postgresql":
        return [
            _POSTGRES_FUNCTION,
            f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION mastbook_refuse_change()",
            # no row trigger sees a TRUNCATE
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION mastbook_refuse_change()",
        ]
    return [
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'table {table} is append-only: correct with a new record'); END"
        for verb in ("UPDATE", "DELETE")
    ]


def unprotect_statements(table, vendor):
    if vendor == "postgresql":
        return [f"DROP TRIGGER IF EXISTS {table}_{name} ON {table}" for name in _POSTGRES_TRIGGERS]
    return [f"DROP TRIGGER IF EXISTS {table}_no_{verb}" for verb in ("update", "delete")]


def no_replace_statement(connection, table):
    """SQL of the trigger that refuses INSERT OR REPLACE on SQLite, which takes the old row away without its DELETE trigger.

    It refuses any row whose key, or whose value in a unique column, is there already: a plain INSERT would fail on those too.
    """
    same = [f"{table}.id = NEW.id AND NEW.id > 0"]  # NEW.id is -1 where the database is to find a number
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT l.name, group_concat(i.name, ','), count(*) - count(i.name) FROM pragma_index_list(%s) l, pragma_index_info(l.name) i "
            'WHERE l."unique" GROUP BY l.name ORDER BY l.name',
            [table],
        )
        for index, columns, expressions in cursor.fetchall():
            if expressions:  # it has no name to compare
                raise ValueError(f"{index}: a unique index of an append-only table can only be of columns")
            cursor.execute("SELECT sql FROM sqlite_master WHERE name = %s AND type = 'index'", [index])
            found = cursor.fetchone()
            _head, _where, condition = ((found and found[0]) or "").partition(" WHERE ")
            same.append(_same_in_index(table, columns.split(","), condition))
    there = " OR ".join(f"EXISTS (SELECT 1 FROM {table} WHERE {condition})" for condition in same)
    return (
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN {there} "
        f"BEGIN SELECT RAISE(ABORT, 'table {table} is append-only, and it has this row already: correct with a new record'); END"
    )


def _same_in_index(table, columns, condition):
    """Whether a row of the table would meet the new one in a unique index; a partial index has only the rows of its condition."""
    parts = [f'{table}."{column}" = NEW."{column}"' for column in columns]
    if condition:
        parts.append(f"({condition})")
    others = sorted(set(re.findall(r'"(\w+)"', condition)) - set(columns))
    if others:  # equal values in the index do not say that the new row is in it
        values = ", ".join(f'NEW."{column}" AS "{column}"' for column in [*columns, *others])
        parts.append(f"EXISTS (SELECT 1 FROM (SELECT {values}) WHERE {condition})")
    return " AND ".join(parts)


def unprotected(connection, tables):
    """[(table, what is missing)] of tables that the database does not protect as `protect_statements` would."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                # "D" is a trigger that is switched off
                "SELECT t.tgname, t.tgtype FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
                "JOIN pg_namespace n ON n.oid = c.relnamespace JOIN pg_proc p ON p.oid = t.tgfoid "
                "WHERE n.nspname = current_schema() AND starts_with(t.tgname, c.relname || '_') "
                "AND t.tgenabled <> 'D' AND t.tgqual IS NULL AND p.prosrc = %s",
                [_POSTGRES_FUNCTION.split("$$")[1]],
            )
            there = set(cursor.fetchall())
            return [
                (table, refused)
                for table in tables
                for name, (refused, kind) in _POSTGRES_TRIGGERS.items()
                if (f"{table}_{name}", kind) not in there
            ]
        cursor.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger'")
        there = {sql for (sql,) in cursor.fetchall()}
    verbs = ("UPDATE", "DELETE", "INSERT OR REPLACE")
    return [
        (table, verb)
        for table in tables
        for verb, statement in zip(
            verbs, [*protect_statements(table, connection.vendor), no_replace_statement(connection, table)], strict=True
        )
        if statement not in there
    ]


def protect(*tables):
    """A (forward, reverse) pair for `migrations.RunPython`."""
    return _steps(protect_statements, tables), _steps(unprotect_statements, tables)


def protect_again(*tables):
    """Like `protect`, for tables of which some may have lost their triggers: SQLite drops them when it rebuilds a table."""

    def both(table, vendor):
        return [*unprotect_statements(table, vendor), *protect_statements(table, vendor)]

    return _steps(both, tables, refuses_replace=True), _steps(unprotect_statements, tables)


def finish_tables(apps, schema_editor):
    """Make the indexes that Django leaves to the end of a migration: a trigger that refuses a replacement names the unique ones."""
    for statement in schema_editor.deferred_sql:
        schema_editor.execute(statement, None)
    schema_editor.deferred_sql.clear()


def _steps(statements, tables, refuses_replace=False):
    def step(apps, schema_editor):
        connection = schema_editor.connection
        for table in tables:
            for statement in statements(table, connection.vendor):
                schema_editor.execute(statement, params=None)
            if connection.vendor == "sqlite":
                schema_editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_replace", params=None)
                if refuses_replace:
                    schema_editor.execute(no_replace_statement(connection, table), params=None)

    return step
