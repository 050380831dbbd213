"""How far long work is. Whoever does the work says so by `progress`; a job, or a command on a terminal, listens. Otherwise nobody does."""

from contextlib import contextmanager
from contextvars import ContextVar

__all__ = ["counted", "listening", "progress"]

_LISTENER = ContextVar("listener", default=None)


@contextmanager
def listening(listener):
    """Calls `listener(words, done, total, unit)` for whatever the work inside says. It may raise, which ends the work."""
    before = _LISTENER.set(listener)
    try:
        yield
    finally:
        _LISTENER.reset(before)


def progress(words, done=0, total=0, unit=""):
    """Say what is being done, and how far it is."""
    listener = _LISTENER.get()
    if listener is not None:
        listener(words, done, total, unit)


def counted(items, words, unit="rows", every=500, count=None):
    """The items of a list one by one; every so many of them it says how many are behind. `count()` says how many a stream has."""
    if _LISTENER.get() is None:
        yield from items
        return
    total = count() if count else len(items)
    for number, item in enumerate(items):
        if not number % every:
            progress(words, number, total, unit)
        yield item
