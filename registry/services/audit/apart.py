"""A long write is prepared apart, so that it has the database to itself only for as long as its rows take to go in.

SQLite has one writer, so a load that is checked and stored inside one transaction holds up every other save. Here the work is done on a
private copy of the database, with all its checks, services and hashes, and every statement that wrote something is noted. Then the same
statements run on the records themselves in one transaction, if nobody saved anything since the copy was made. Every write adds to the
audit trail, so its head tells: the same head, the same records, and the head must be that of the copy at the end. Otherwise the work
is done again with a new copy, and after some times in the open write.

PostgreSQL lets others write meanwhile, so there the work is done in the open write.
"""

import contextlib
import logging
import os
import pickle
import sqlite3
import tempfile
from contextvars import ContextVar

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connection, connections

from registry.selectors.audit.chain_head import chain_head
from registry.services.audit.busy import loading, not_waiting
from registry.services.audit.trail import OPEN_WRITE
from registry.services.shared.progress import progress

__all__ = ["Prepared", "is_on_copy", "own_connection", "prepared_apart", "saved_at_once", "tried_apart"]

log = logging.getLogger(__name__)
TRIES = 3
_ORIGINAL = ContextVar("original", default=None)  # the connection of the records, while this thread works on a copy
_WRITING = ("INSERT", "UPDATE", "DELETE", "REPLACE", "SAVEPOINT", "RELEASE", "ROLLBACK TO")


class Prepared:
    """Work that `store` stores, once, inside an open write. `result` is what it gave; None where it is not done yet."""

    def __init__(self, work, result=None, statements=None):
        self.work, self.result, self._statements = work, result, statements

    def around(self):
        """The context of that write. Where the work is still to be done, others are told that a sheet is being loaded; else they wait."""
        return loading() if self._statements is None else contextlib.nullcontext()

    def store(self):
        """Store what was prepared; where others saved something meanwhile, do the work again, now. Returns its result."""
        if self._statements is None or self._statements.before != chain_head():
            self.result = self.work()
        else:
            self._statements.run()
        return self.result


def prepared_apart(work, tries=TRIES):
    """Do a long write on a copy of the database, or leave it to `Prepared.store` where a copy is of no use.

    Parameters
    ----------
    work : function
        Writes by services and gives a result; may be called again. What it raises is passed on: nothing is stored then.

    Returns
    -------
    Prepared
    """
    if not _may_copy():
        return Prepared(work)
    for _try in range(tries):
        try:
            with _Copy() as copy:
                result = work()
        except _CopyFailed as error:
            log.warning("A long load is stored without a copy of the database: %s", error)
            return Prepared(work)
        if copy.statements.before == chain_head():
            return Prepared(work, result, copy.statements)
        progress("Records changed meanwhile, so it is checked again")
    return Prepared(work)


def tried_apart(work):
    """What work gives that only tries something and takes it back: on a copy where one is of use, so that it holds up nobody."""
    if not _may_copy():
        return work()
    try:
        with _Copy():
            return work()
    except _CopyFailed as error:
        log.warning("A long sheet is tried without a copy of the database: %s", error)
        return work()


def is_on_copy():
    """Whether this thread works on a copy, where nobody waits for it."""
    original = _ORIGINAL.get()
    return original is not None and original.settings_dict["NAME"] != connection.settings_dict["NAME"]


@contextlib.contextmanager
def own_connection():
    """What is read inside, in one long transaction say, has a connection of its own, so that what `saved_at_once` saves is seen at once."""
    here = connections[DEFAULT_DB_ALIAS]
    if here.in_atomic_block:  # another connection would not see what this one has stored
        yield
        return
    own, mine = here.copy(), _ORIGINAL.set(here)
    connections[DEFAULT_DB_ALIAS] = own
    try:
        yield
    finally:
        connections[DEFAULT_DB_ALIAS] = here
        _ORIGINAL.reset(mine)
        own.close()


@contextlib.contextmanager
def saved_at_once():
    """What is saved inside is seen by others at once, also while a write is open. Yields False where it cannot be saved: in a write on
    SQLite, whose one writer this is."""
    here, original = connections[DEFAULT_DB_ALIAS], _ORIGINAL.get()
    if original is None and OPEN_WRITE.get() is None:
        yield True
    elif original is None and here.vendor == "sqlite":
        yield False
    else:
        spare = original or here.copy()
        connections[DEFAULT_DB_ALIAS] = spare
        try:
            yield True
        finally:
            connections[DEFAULT_DB_ALIAS] = here
            if spare is not original:
                spare.close()


def _may_copy():
    return connection.vendor == "sqlite" and not connection.in_atomic_block and not connection.is_in_memory_db()


class _CopyFailed(Exception):
    """The database cannot be copied: the disk is full, or the copy cannot be read."""


class _Copy:
    """All that this thread reads and writes inside goes to a copy, which is a file without a name: a program that is killed leaves none."""

    def __enter__(self):
        progress("Copying the database")
        original = connections[DEFAULT_DB_ALIAS]
        try:
            copy = _open_copy(original)
        except (OSError, sqlite3.Error) as error:
            raise _CopyFailed(str(error)) from error
        self._leave = contextlib.ExitStack()
        self._leave.callback(copy.close)
        connections[DEFAULT_DB_ALIAS] = copy
        self._leave.callback(connections.__setitem__, DEFAULT_DB_ALIAS, original)
        self._leave.callback(_ORIGINAL.reset, _ORIGINAL.set(original))
        self._leave.enter_context(not_waiting())
        self.statements = _Statements(chain_head())
        self._leave.enter_context(copy.execute_wrapper(self.statements.note))
        return self

    def __exit__(self, *error):
        if error[0] is None:
            self.statements.after = chain_head()
        return self._leave.__exit__(*error)


def _open_copy(original):
    handle, path = tempfile.mkstemp(prefix=".copy-", dir=settings.DATA_DIR)
    os.close(handle)
    try:
        records = sqlite3.connect(original.settings_dict["NAME"], timeout=20)
        with contextlib.closing(records) as source, contextlib.closing(sqlite3.connect(path)) as target:
            source.backup(target)
            target.execute("PRAGMA journal_mode=DELETE")
        options = original.settings_dict["OPTIONS"] | {"init_command": "PRAGMA journal_mode=MEMORY;PRAGMA synchronous=OFF"}
        copy = type(original)(original.settings_dict | {"NAME": path, "OPTIONS": options}, DEFAULT_DB_ALIAS)
        copy.ensure_connection()
    finally:
        os.unlink(path)
    return copy


class _Statements:
    """The statements of a write, in a temporary file, so that memory does not grow with them."""

    def __init__(self, before):
        self.before = self.after = before
        handle, path = tempfile.mkstemp(prefix=".statements-", dir=settings.DATA_DIR)
        os.unlink(path)
        self._file = os.fdopen(handle, "w+b")

    def note(self, execute, sql, params, many, context):
        if many:
            params = list(params)
        result = execute(sql, params, many, context)
        if sql.lstrip()[:11].upper().startswith(_WRITING):
            pickle.dump((sql, params, many), self._file, pickle.HIGHEST_PROTOCOL)
        return result

    def run(self):
        """Run them on the records. What they leave has the same hashes as the copy, or all of it is taken back."""
        self._file.seek(0)
        with connection.cursor() as cursor:
            for sql, params, many in self._noted():
                (cursor.executemany if many else cursor.execute)(sql, params)
        if chain_head() != self.after:
            raise RuntimeError("What was stored is not what was prepared on the copy.")

    def _noted(self):
        while True:
            try:
                yield pickle.load(self._file)
            except EOFError:
                return
