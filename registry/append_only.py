"""SQL that makes a table append-only: the database itself refuses UPDATE and DELETE of its rows.

Used by migrations. The text is plain SQL for SQLite and PostgreSQL.
"""

_POSTGRES_FUNCTION = """
CREATE OR REPLACE FUNCTION mastbook_refuse_change() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'table % is append-only: correct with a new record', TG_TABLE_NAME USING ERRCODE = 'integrity_constraint_violation';
END $$ LANGUAGE plpgsql"""


def protect_statements(table, vendor):
    """SQL statements that protect `table` on the database vendor ('sqlite' or 'postgresql')."""
    if vendor == "postgresql":
        return [
            _POSTGRES_FUNCTION,
            f"CREATE TRIGGER {table}_append_only BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION mastbook_refuse_change()",
        ]
    return [
        f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'table {table} is append-only: correct with a new record'); END"
        for verb in ("UPDATE", "DELETE")
    ]


def unprotect_statements(table, vendor):
    if vendor == "postgresql":
        return [f"DROP TRIGGER IF EXISTS {table}_append_only ON {table}"]
    return [f"DROP TRIGGER IF EXISTS {table}_no_{verb}" for verb in ("update", "delete")]


def protect(*tables):
    """A (forward, reverse) pair for `migrations.RunPython`."""
    return _steps(protect_statements, tables), _steps(unprotect_statements, tables)


def protect_again(*tables):
    """Like `protect`, for tables of which some may have lost their triggers: SQLite drops them when it rebuilds a table."""

    def both(table, vendor):
        return [*unprotect_statements(table, vendor), *protect_statements(table, vendor)]

    return _steps(both, tables), _steps(unprotect_statements, tables)


def _steps(statements, tables):
    def step(apps, schema_editor):
        vendor = schema_editor.connection.vendor
        for table in tables:
            for statement in statements(table, vendor):
                schema_editor.execute(statement, params=None)

    return step
