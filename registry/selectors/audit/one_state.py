"""Reading many tables as they are at one moment, while others save."""

import contextlib

from django.db import connection, transaction

__all__ = ["one_state"]


@contextlib.contextmanager
def one_state():
    """Everything inside reads the database as it is now, and holds up nobody who writes."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(durable=True), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
    else:
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")  # the transactions of Django take the lock of writers
            try:
                yield
            finally:
                cursor.execute("ROLLBACK")
