"""How many examples a property gets whose every example writes records."""

from django.db import connection

FEWEST = 3


def examples(number):
    """`number` on SQLite, a fifth on PostgreSQL.

    What such a property says is the work of our own code, the same on both databases. A statement that PostgreSQL alone answers
    in another way is in each of its examples.
    """
    return number if connection.vendor == "sqlite" else max(FEWEST, number // 5)
