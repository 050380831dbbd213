"""Waiting for the saves of others: never long, and then in words. Nothing typed is lost, since a form shows this as its error.

On SQLite one save at a time has the database. Whoever loads a sheet says so by a locked file beside it, which the system unlocks when
the program ends, however it ends. On PostgreSQL saves wait for the rows they share only, as long as `lock_timeout` lets them.
"""

import fcntl
import time
from contextlib import contextmanager
from contextvars import ContextVar

from django.conf import settings
from django.contrib.sessions.backends.base import UpdateError
from django.core.exceptions import ValidationError
from django.db import DatabaseError, OperationalError, connection, transaction

from registry.disk.faults import BUSY, is_busy

__all__ = ["LOADING", "Busy", "begin_write", "loading", "not_waiting", "saved_if_free"]

LOADING = (
    "Somebody is loading a sheet, and until that is done nothing else can be saved. Nothing of yours was saved. Save again in a minute."
)
SHORT_WAIT, LONG_WAIT = 3.0, 20.0  # seconds: for a sheet that is being loaded, and for other saves
_STEP = 0.1
_LOADS = ContextVar("loads", default=False)


class Busy(ValidationError):
    """Nothing was stored, because somebody else's save is still running."""


@contextmanager
def loading():
    """Others see that a sheet is being loaded. Raises `Busy` when somebody else loads one on SQLite."""
    if connection.vendor != "sqlite" or _LOADS.get():
        yield
        return
    with _path().open("a") as file:
        if not _tries_until(SHORT_WAIT, lambda: _lock(file, fcntl.LOCK_EX)):
            raise Busy(LOADING)
        mine = _LOADS.set(True)
        try:
            yield
        finally:
            _LOADS.reset(mine)


@contextmanager
def not_waiting():
    """Nothing is waited for inside, and nobody sees a load: the work is on a copy of the database (`apart.py`)."""
    mine = _LOADS.set(True)
    try:
        yield
    finally:
        _LOADS.reset(mine)


def begin_write(stack):
    """Begin the transaction of a write on an `ExitStack`. Raises `Busy` when others do not let it begin in time."""
    if (
        connection.vendor == "sqlite"
        and not connection.in_atomic_block
        and not _LOADS.get()
        and not _tries_until(SHORT_WAIT, _nobody_loads)
    ):
        raise Busy(LOADING)
    if not _tries_until(LONG_WAIT, lambda: _begins(stack)):
        raise Busy(BUSY)


def saved_if_free(save):
    """Whether a small write of a page that only reads was stored: where others have the database, or nothing can be stored, it is left out.

    Parameters
    ----------
    save : function that may raise what the database or the store of sessions raises
    """
    try:
        with _at_once():
            save()
    except (DatabaseError, UpdateError):
        return False
    return True


@contextmanager
def _at_once():
    """On SQLite nothing inside waits for the saves of others."""
    if connection.vendor != "sqlite":
        yield
        return
    with connection.cursor() as cursor:
        usual = cursor.execute("PRAGMA busy_timeout").fetchone()[0]
        cursor.execute("PRAGMA busy_timeout=0")
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA busy_timeout={usual:d}")


def _begins(stack):
    try:
        stack.enter_context(transaction.atomic())
    except OperationalError as error:
        if is_busy(error):
            return False
        raise
    return True


def _tries_until(seconds, attempt):
    """Whether an attempt succeeded within a time; the first is made in any case."""
    ends = time.monotonic() + seconds
    while not attempt():
        if time.monotonic() >= ends:
            return False
        time.sleep(_STEP)
    return True


def _nobody_loads():
    if not _path().exists():
        return True
    with _path().open("a") as file:
        return _lock(file, fcntl.LOCK_SH)


def _lock(file, kind):
    try:
        fcntl.flock(file, kind | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _path():
    return settings.DATA_DIR / "loading.lock"
