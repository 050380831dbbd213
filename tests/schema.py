"""The tables of the tests, made from the models in seconds; `test_migrations.py` proves that the migrations make the same.

Running the migrations from nothing takes longer, and each worker would do it again on each database.
"""

import re

from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from registry.models.append_only import protect_again
from registry.selectors.audit.record_hashes import append_only_models


class WithoutMigrations:
    """A value of `MIGRATION_MODULES` by which Django makes each table from its model."""

    def __contains__(self, app):
        return True

    def __getitem__(self, app):
        return None


def complete_schema():
    """Add what models alone do not make: the triggers of append-only tables, and the record that no migration is left to run."""
    with connection.schema_editor() as editor:
        protect_again(*(model._meta.db_table for model in append_only_models()))[0](None, editor)
    executor = MigrationExecutor(connection)
    executor.recorder.ensure_schema()
    for migration, _backwards in executor.migration_plan(executor.loader.graph.leaf_nodes()):
        executor.record_migration(migration)


def migrate_singly(*targets):
    """Run the migrations one by one, as a database did that began with an earlier version, up to `targets`: [(app, name)]."""
    forget_squashed()
    executor = MigrationExecutor(connection)
    executor.loader = MigrationLoader(connection, replace_migrations=False)
    executor.migrate(targets)
    forget_squashed()


def forget_squashed():
    """Leave no squashed migration on record as run. Django notes one when all that it replaces have; an earlier version had none."""
    recorder = MigrationRecorder(connection)
    recorder.ensure_schema()
    for (app, name), migration in MigrationLoader(None).disk_migrations.items():
        if migration.replaces:
            recorder.record_unapplied(app, name)


def earlier_models(app, name):
    """The models of an app as they were after a migration."""
    return MigrationLoader(connection, replace_migrations=False).project_state([(app, name)]).apps


def drop_all_tables():
    """Leave the database as if it had just been made."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("DROP SCHEMA public CASCADE")
            cursor.execute("CREATE SCHEMA public")
            return
        cursor.execute("PRAGMA foreign_keys = OFF")
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f'DROP TABLE "{table}"')
        cursor.execute("PRAGMA foreign_keys = ON")


def described():
    """{table: (its columns, constraints and indexes, its triggers)} as the database itself lists them, without their names."""
    with connection.cursor() as cursor:
        tables = connection.introspection.table_names(cursor)
        listed = _of_postgresql if connection.vendor == "postgresql" else _of_sqlite
        return {table: listed(cursor, table) for table in tables if table != MigrationRecorder.Migration._meta.db_table}


def _of_postgresql(cursor, table):
    columns = map(str, connection.introspection.get_table_description(cursor, table))
    constraints = map(_constraint, connection.introspection.get_constraints(cursor, table).values())
    cursor.execute(
        "SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = %s::regclass "
        "UNION ALL SELECT regexp_replace(indexdef, 'INDEX \\S+', 'INDEX') FROM pg_indexes WHERE tablename = %s",
        [table, table],
    )
    conditions = [definition for (definition,) in cursor.fetchall()]  # of CHECKs and partial indexes: introspection leaves them out
    cursor.execute(
        "SELECT regexp_replace(pg_get_triggerdef(oid), 'CREATE TRIGGER \\S+', '') FROM pg_trigger WHERE tgrelid = %s::regclass AND NOT tgisinternal",
        [table],
    )
    return sorted([*columns, *constraints, *conditions]), sorted(definition for (definition,) in cursor.fetchall())


def _constraint(found):
    return str(sorted((key, str(value)) for key, value in found.items() if key not in {"name", "definition"}))


def _of_sqlite(cursor, table):
    """From the statements that SQLite stores: a table is nothing else, and what introspection says is read from them."""
    cursor.execute("SELECT type, sql FROM sqlite_master WHERE tbl_name = %s AND sql IS NOT NULL", [table])
    rows = cursor.fetchall()
    [made] = [sql for kind, sql in rows if kind == "table"]
    indexes = [re.sub(r'INDEX "\w+"', "INDEX", sql) for kind, sql in rows if kind == "index"]
    return sorted([*_parts(made), *indexes]), sorted(sql for kind, sql in rows if kind == "trigger")


def _parts(sql):
    """Columns and constraints of a CREATE TABLE of SQLite, in no order: a migration may have added a column in another place."""
    inside, parts, depth = sql[sql.index("(") + 1 : sql.rindex(")")], [""], 0
    for sign in inside:
        depth += (sign == "(") - (sign == ")")
        if sign == "," and not depth:
            parts.append("")
        else:
            parts[-1] += sign
    return [" ".join(part.split()) for part in parts]
