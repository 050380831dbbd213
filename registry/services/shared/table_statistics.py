"""What PostgreSQL knows of how many rows its tables have, while one transaction fills them."""

from django.db import OperationalError, connection, transaction

from registry.disk.faults import is_busy

__all__ = ["statistics_refresh"]

_LOCK = 7_210_433  # any number, the same for all


def statistics_refresh(*models):
    """Let PostgreSQL count the rows of tables again, those of the open transaction among them. SQLite needs none of this.

    An autovacuum that passes while a load is open counts no row of it. From then on PostgreSQL takes a filled table for an empty one and
    reads all of it for each row of another: a query that takes milliseconds takes minutes. ANALYZE sees the rows, and keeps the
    autovacuum away until the load is stored. Where two loads are open, the second leaves it to the first, so that neither waits.
    """
    if connection.vendor != "postgresql":
        return
    tables = ", ".join(connection.ops.quote_name(model._meta.db_table) for model in models)
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [_LOCK])
            if cursor.fetchone()[0]:
                cursor.execute(f"ANALYZE {tables}")
    except OperationalError as error:
        if not is_busy(error):  # a long vacuum holds a table: the load goes on with what PostgreSQL knows
            raise
