"""Answers about many records, held in the memory of a process until a record changes that they rest on.

The audit trail tells, since every write adds to it: most entries concern everything that is held, those of some verbs (a census record, a
review) only one part of the records, such as one planting, and some nothing (a photo). An app says so by `trail_concerns`; a verb that it
does not name concerns everything. So an answer is worked out again after a write that concerns any part, and what it is made from, held
by part (`held_by_part`), is read again for the parts concerned alone. What somebody changes past the program adds no entry, so nothing
held is older than ten minutes.

Whoever may see other rows, reads another language or asks on another day gets an answer of their own. Inside a transaction nothing is
held, since its rows may be taken back. Small records are read each time: a process holds answers from the moment that `hold_answers` is
called, for the first reading of many rows.
"""

import threading
from collections import OrderedDict
from functools import partial, wraps
from time import monotonic

from django.db import connection
from django.utils import timezone
from django.utils.translation import get_language

from registry.access.scoping import ALL
from registry.models import AuditEntry, AuditHead

__all__ = ["are_held", "forget_answers", "held_beside_parts", "held_by_part", "held_until_change", "hold_answers", "trail_concerns"]

ANSWERS_MOST = 30
PARTS_MOST = 30
SECONDS_MOST = 600
ENTRIES_MOST = 500  # after more entries than these everything is read again

_concerned = {}


def trail_concerns(*, one_part=(), nothing=()):
    """Audit entries of these verbs concern the part that their record is, or nothing that is held."""
    _concerned.update(dict.fromkeys(one_part, True) | dict.fromkeys(nothing, False))


class _Held:
    """What is held, and the state of the records as last seen: each change has a number, `all_at` is that of the last that concerned
    everything and `part_at` has those of parts since."""

    def __init__(self):
        self.is_on, self.lock = False, threading.Lock()
        self.number, self.all_at, self.part_at = 0, 0, {}
        self.seen = None  # key and hash of the last entry
        self.answers, self.parts = OrderedDict(), OrderedDict()

    def follow(self):
        """The number of the last change, after a look at the trail. One query without a change."""
        with self.lock:
            sha256 = AuditHead.objects.values_list("sha256", flat=True).first() or ""
            if self.seen is None or sha256 != self.seen[1]:
                self._follow()
            return self.number

    def _follow(self):
        self.number += 1
        since = self.seen
        entries = AuditEntry.objects.order_by("pk").values_list("pk", "sha256", "previous_sha256", "verb", "record_id")
        new = list(entries.filter(pk__gt=since[0])[: ENTRIES_MOST + 1]) if since else []
        if not new or len(new) > ENTRIES_MOST or new[0][2] != since[1]:
            last = AuditEntry.objects.order_by("-pk").values_list("pk", "sha256").first() or (0, "")
            self.seen, self.all_at, self.part_at = last, self.number, {}
            return
        for pk, sha256, _previous, verb, record in new:
            self.seen = pk, sha256
            if _concerned.get(verb) is None:
                self.all_at, self.part_at = self.number, {}
            elif _concerned[verb]:
                self.part_at[record] = self.number

    def concerned_since(self, number):
        """The parts that changed since; None where everything did."""
        with self.lock:
            return None if self.all_at > number else {part for part, at in self.part_at.items() if at > number}

    def place(self, where, key, most):
        """The held value of a key, the one asked for last at the end."""
        with self.lock:
            found = where.setdefault(key, _Value())
            where.move_to_end(key)
            while len(where) > most:
                where.popitem(last=False)
            return found


class _Value:
    """A value, of which change it is and when it was worked out; None before. Its lock makes those who ask for the same wait for one."""

    __slots__ = ("lock", "made_at", "number", "value")

    def __init__(self):
        self.lock, self.made_at, self.number, self.value = threading.Lock(), None, 0, None

    def concerned(self):
        """The parts to be read again, None for all."""
        if self.made_at is None or monotonic() - self.made_at > SECONDS_MOST:
            return None
        return _held.concerned_since(self.number)


_held = _Held()


def hold_answers():
    """From now on this process holds answers: its records are many."""
    _held.is_on = True


def are_held():
    """Whether answers are held here and now."""
    return _held.is_on and not connection.in_atomic_block


def forget_answers():
    """As a process that has just started."""
    _held.__init__()


def held_until_change(work_out):
    """Marks a selector: takes a person first and then values that can be keys; its answer must not be changed by whoever gets it."""

    @wraps(work_out)
    def held(user, *given, **named):
        person = (user.pk, user.role, get_language(), timezone.localdate())
        return _answer(partial(work_out, user), work_out, person, given, named, is_other=lambda concerned: concerned != set())

    return held


def held_beside_parts(work_out):
    """Marks a reading without a person that rests on no part, such as what is on file of lots: only what concerns everything ends it."""

    @wraps(work_out)
    def held(*given, **named):
        return _answer(work_out, work_out, None, given, named, is_other=lambda concerned: concerned is None)

    return held


def _answer(ask, work_out, person, given, named, *, is_other):
    """The held answer, or that of `ask` where nothing is held or what is held is of other records."""
    if not are_held():
        return ask(*given, **named)
    key = (work_out.__module__, work_out.__qualname__, person, given, tuple(sorted(named.items())))
    # the number is taken before the records are read: a write in between makes the answer newer than its number, and it is asked again
    number, found = _held.follow(), _held.place(_held.answers, key, ANSWERS_MOST)
    with found.lock:
        if is_other(found.concerned()):
            found.value, found.made_at = ask(*given, **named), monotonic()
        found.number = max(found.number, number)
        return found.value


def held_by_part(model, of_all=dict):
    """Marks a reading by part: `read(user, parts, *given)` gives {part: rows} of some parts (a set of keys), of all for None.

    A part without rows is left out. Parts are in the order of their keys. After a write the parts that it concerns are read again.
    Whoever may see all rows of `model` shares what is held. What the marked reading gives is `of_all` of the parts, which must not be
    changed by whoever gets it.
    """

    def mark(read):
        @wraps(read)
        def held(user, *given):
            if not are_held():
                return of_all(_in_order(read(user, None, *given)))
            sees_all = user.is_authenticated and user.is_active and model.SCOPE.get(user.role) == ALL
            person = (ALL if sees_all else (user.pk, user.role), get_language(), timezone.localdate())
            number, found = _held.follow(), _held.place(_held.parts, (read.__module__, read.__qualname__, person, given), PARTS_MOST)
            with found.lock:
                concerned = found.concerned()
                if concerned is None:
                    parts, found.made_at = _in_order(read(user, None, *given)), monotonic()
                    found.value = parts, of_all(parts)
                elif concerned:
                    parts = {part: rows for part, rows in found.value[0].items() if part not in concerned}
                    parts = _in_order(parts | read(user, concerned, *given))
                    found.value = parts, of_all(parts)
                found.number = max(found.number, number)
                return found.value[1]

        return held

    return mark


def _in_order(parts):
    return dict(sorted(parts.items()))
