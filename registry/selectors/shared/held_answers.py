"""Answers about many records, held in the memory of a process until a record changes.

The end of the audit trail tells: every write adds to it. A write past the program does not (a recount that corrects tallies), so no answer
is older than ten minutes. Whoever may see other rows, reads another language or asks on another day gets an answer of their own. Inside a
transaction nothing is held, since its rows may be taken back. Small records are read each time: a process holds answers from the moment
that `hold_answers` is called, for the first reading of many rows.
"""

import threading
from collections import OrderedDict
from functools import wraps
from time import monotonic

from django.db import connection
from django.utils import timezone
from django.utils.translation import get_language

from registry.models import AuditHead

__all__ = ["forget_answers", "held_until_change", "hold_answers"]

ANSWERS_MOST = 20
SECONDS_MOST = 600


class _Answer:
    """A value and when it was worked out; None before. Its lock makes those who ask for the same wait for one of them."""

    __slots__ = ("lock", "made_at", "value")

    def __init__(self):
        self.lock, self.made_at, self.value = threading.Lock(), None, None


class _Held:
    """The answers of one state of the records, the one asked for last at the end."""

    def __init__(self):
        self.is_on, self.lock, self.edition, self.answers = False, threading.Lock(), None, OrderedDict()

    def answer(self, edition, key):
        with self.lock:
            if edition != self.edition:
                self.edition, self.answers = edition, OrderedDict()
            found = self.answers.get(key)
            if found is None or (found.made_at is not None and monotonic() - found.made_at > SECONDS_MOST):
                found = self.answers[key] = _Answer()
            self.answers.move_to_end(key)
            while len(self.answers) > ANSWERS_MOST:
                self.answers.popitem(last=False)
            return found


_held = _Held()


def hold_answers():
    """From now on this process holds answers: its records are many."""
    _held.is_on = True


def forget_answers():
    """As a process that has just started."""
    _held.__init__()


def held_until_change(work_out):
    """Marks a selector: takes a person first and then values that can be keys; its answer must not be changed by whoever gets it."""

    @wraps(work_out)
    def held(user, *given, **named):
        if not _held.is_on or connection.in_atomic_block:
            return work_out(user, *given, **named)
        # read before the records: a write in between makes the answer newer than its edition, and the next one is asked for anyway
        edition = AuditHead.objects.values_list("entries", "sha256").first()
        person = (user.pk, user.role, get_language(), timezone.localdate())
        answer = _held.answer(edition, (work_out.__module__, work_out.__qualname__, person, given, tuple(sorted(named.items()))))
        with answer.lock:
            if answer.made_at is None:
                answer.value, answer.made_at = work_out(user, *given, **named), monotonic()
            return answer.value

    return held
