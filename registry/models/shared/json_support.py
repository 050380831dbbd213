"""Whether SQLite reads JSON, asked of a database in memory.

Django asks the database of the site, in a transaction of its own, and takes the answer that somebody else is saving for a no, which it
then keeps: every page that reads JSON in a query failed until the program was started again.
"""

import sqlite3

from django.db import connection

__all__ = ["json_support_without_lock"]


def json_support_without_lock():
    """Called once when the program starts, before it reads the database."""
    if connection.vendor == "sqlite":
        type(connection.features).supports_json_field = _reads_json()


def _reads_json():
    memory = sqlite3.connect(":memory:")
    try:
        memory.execute("SELECT JSON('{}')")
    except sqlite3.OperationalError:
        return False
    finally:
        memory.close()
    return True
