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
    executor = MigrationExecutor(connection)
    _forget_squashed(executor)
    executor.loader = MigrationLoader(connection, replace_migrations=False)
    executor.migrate(targets)
    _forget_squashed(executor)  # it notes one as run when all that it replaces have


def _forget_squashed(executor):
    executor.recorder.ensure_schema()
    for (app, name), migration in executor.loader.disk_migrations.items():
        if migration.replaces:
            executor.recorder.record_unapplied(app, name)


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
    """{table: (its columns, its constraints and indexes, its triggers)} as the database itself lists them, without their names."""
    tables = {}
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            if table != MigrationRecorder.Migration._meta.db_table:
                columns = connection.introspection.get_table_description(cursor, table)
                constraints = connection.introspection.get_constraints(cursor, table).values()
                tables[table] = (sorted(map(str, columns)), sorted(map(_constraint, constraints)), _definitions(cursor, table))
    return tables


def _constraint(found):
    return str(sorted((key, str(value)) for key, value in found.items() if key not in {"name", "definition"}))


def _definitions(cursor, table):
    """What introspection leaves out: the conditions of CHECKs and partial indexes, and the triggers."""
    if connection.vendor == "postgresql":
        cursor.execute(
            "SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = %s::regclass "
            "UNION ALL SELECT regexp_replace(indexdef, 'INDEX \\S+', 'INDEX') FROM pg_indexes WHERE tablename = %s "
            "UNION ALL SELECT regexp_replace(pg_get_triggerdef(oid), 'CREATE TRIGGER \\S+', '') FROM pg_trigger "
            "WHERE tgrelid = %s::regclass AND NOT tgisinternal",
            [table, table, table],
        )
        return sorted(definition for (definition,) in cursor.fetchall())
    cursor.execute("SELECT sql FROM sqlite_master WHERE tbl_name = %s AND type != 'table' AND sql IS NOT NULL", [table])
    found = [re.sub(r'INDEX "\w+"', "INDEX", sql) for (sql,) in cursor.fetchall()]
    cursor.execute("SELECT sql FROM sqlite_master WHERE name = %s", [table])
    [(sql,)] = cursor.fetchall()
    return sorted([*found, *_parts(sql)])


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
