"""What stops Mastbook from outside (another save, a full disk, a folder it may not write to, no database), in words for a person."""

from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError, InterfaceError

from registry.disk.whole_files import full_or_read_only

__all__ = ["BUSY", "is_busy", "outside_fault_words"]

BUSY = "Another save is still running, such as a long sheet that somebody is loading. Nothing of yours was saved. Save again in a minute."
# What the message of the database holds -> what to say. SQLite: result codes of its C interface; PostgreSQL: its SQLSTATE texts.
_WORDS = (
    (("database is locked", "database table is locked", "lock timeout", "deadlock detected"), BUSY),
    (
        ("readonly database", "read-only transaction"),
        "Mastbook may not write into its data folder or database. Nothing was saved. Whoever runs Mastbook must open them for writing.",
    ),
    (
        ("database or disk is full", "could not extend file", "No space left on device"),
        "The disk of the server is full. Nothing was saved.",
    ),
    (("disk I/O error",), "The disk of the server does not work as it should. Nothing was saved."),
    (
        ("unable to open database file",),
        "Mastbook cannot open its database: its data folder is missing or closed to it.",
    ),
    (
        ("connection failed", "connection refused", "server closed the connection", "terminating connection"),
        "The database does not answer.",
    ),
)


def is_busy(error):
    """Whether a database error says that somebody else's save is still running."""
    return _database_words(error) == BUSY


def outside_fault_words(error):
    """What happened, in a sentence or two; "" for an error of the program itself."""
    if isinstance(error, ImproperlyConfigured):
        return str(error)
    if isinstance(error, (DatabaseError, InterfaceError)):
        return _database_words(error)
    if isinstance(error, OSError) and (why := full_or_read_only(error)):
        return f"{why[0].upper()}{why[1:]}. Nothing was saved."
    return ""


def _database_words(error):
    said = str(error)
    return next((words for signs, words in _WORDS if any(sign in said for sign in signs)), "")
