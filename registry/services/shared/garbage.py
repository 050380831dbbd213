"""Fewer searches for objects that refer to each other, while one piece of work makes very many that do not."""

import gc
import threading
from contextlib import contextmanager

__all__ = ["few_collections"]

_FEW = 50_000  # new objects between two searches; Python's own 700 is for programs that make few at once
_lock, _usual, _users = threading.Lock(), [], 0


@contextmanager
def few_collections():
    """Python searches for garbage in circles after every 50,000 new objects in place of 700.

    The rows of a long sheet form no circles and go as soon as nobody needs them, but each of the searches looks at all of them: they took
    a tenth of a load. The setting is that of the process; the last of several users at once sets it back.
    """
    global _users
    with _lock:
        if not _users:
            _usual[:] = gc.get_threshold()
            gc.set_threshold(max(_FEW, _usual[0]) if _usual[0] else 0, *_usual[1:])
        _users += 1
    try:
        yield
    finally:
        with _lock:
            _users -= 1
            if not _users:
                gc.set_threshold(*_usual)
