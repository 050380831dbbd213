"""Answers about many records, held in the memory of a process until a record changes that they rest on.

The audit trail tells, since every write adds to it: an entry concerns some parts of the records, such as one planting (a census
record), what is on file of lots (a lot), the answers alone (a partner), everything (a setting) or no figure (a paper). Each kind of entry
is declared in `trail_concerns`. So an answer is worked out again after an entry that concerns any figure, and what it is made from, held
by part (`held_by_part`) or of all lots (`held_beside_parts`), is read again only where an entry concerns it. What somebody
changes past the program adds no entry, so nothing held is older than ten minutes.

Whoever may see other rows, reads another language or asks on another day gets an answer of their own. Inside a transaction nothing is
held, since its rows may be taken back. Small records are read each time: a process holds answers from the moment that `hold_answers` is
called, for the first reading of many rows.
"""

import threading
from collections import OrderedDict, defaultdict
from functools import partial, wraps
from time import monotonic

from django.db import connection
from django.utils import timezone
from django.utils.translation import get_language

from registry.access.scoping import ALL, scope_key, sees_all
from registry.models import AuditEntry
from registry.selectors.audit.chain_head import chain_head
from registry.selectors.shared.trail_concerns import Concern, concern_of, parts_of_entries

__all__ = ["are_held", "forget_answers", "held_beside_parts", "held_by_part", "held_until_change", "hold_answers"]

ANSWERS_MOST = 30
PARTS_MOST = 30
SECONDS_MOST = 600
ENTRIES_MOST = 500  # after more entries than these everything is read again

# a record of these columns moved from one part to another: the entry does not say from which
_LEADS_TO_PART = {"planting", "round"}


class _Held:
    """What is held, and the state of the records as last seen: each change has a number. `all_at`, `lots_at` and `answers_at` are those of
    the last that concerned everything, lots, and any answer; `part_at` has those of parts since `all_at`."""

    def __init__(self):
        self.is_on, self.lock = False, threading.Lock()
        self.number = self.all_at = self.lots_at = self.answers_at = 0
        self.part_at = {}
        self.seen = None  # key and hash of the last entry
        self.answers, self.parts = OrderedDict(), OrderedDict()

    def follow(self):
        """The number of the last change, after a look at the trail. One query without a change."""
        with self.lock:
            sha256 = chain_head().sha256
            if self.seen is None or sha256 != self.seen[1]:
                self._follow()
            return self.number

    def _follow(self):
        since = self.seen
        entries = AuditEntry.objects.order_by("pk").values_list(
            "pk", "sha256", "previous_sha256", "verb", "record_type", "record_id", "changes"
        )
        new = list(entries.filter(pk__gt=since[0])[: ENTRIES_MOST + 1]) if since else []
        if not new or len(new) > ENTRIES_MOST or new[0][2] != since[1]:
            seen, concerns, parts = AuditEntry.objects.order_by("-pk").values_list("pk", "sha256").first() or (0, ""), None, None
        else:
            seen, concerns, parts = new[-1][:2], *_concerns_of(new)
        self.number += 1
        if parts is None:
            self.all_at = self.lots_at = self.answers_at = self.number
            self.part_at = {}
        elif concerns != {Concern.NOTHING}:
            self.answers_at = self.number
            self.lots_at = self.number if Concern.LOTS in concerns else self.lots_at
            self.part_at |= dict.fromkeys(parts, self.number)
        self.seen = seen

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


def _concerns_of(entries):
    """(the Concerns of entries, the parts they concern); None for the parts where they concern everything."""
    concerns, records = set(), defaultdict(set)
    for _pk, _sha256, _previous, verb, record_type, record, changes in entries:
        concern = concern_of(verb, record_type)
        if concern == Concern.EVERYTHING or (concern == Concern.PARTS and _LEADS_TO_PART & changes.keys()):
            return concerns, None
        concerns.add(concern)
        if concern == Concern.PARTS:
            records[record_type].add(record)
    return concerns, parts_of_entries(records)


class _Value:
    """A value, of which change it is and when it was worked out; None before. Its lock makes those who ask for the same wait for one."""

    __slots__ = ("lock", "made_at", "number", "value")

    def __init__(self):
        self.lock, self.made_at, self.number, self.value = threading.Lock(), None, 0, None

    def is_past(self, changed_at):
        """Whether it was worked out before a change, or too long ago."""
        return self.made_at is None or monotonic() - self.made_at > SECONDS_MOST or changed_at > self.number

    def concerned(self):
        """The parts to be read again, None for all."""
        return None if self.is_past(0) else _held.concerned_since(self.number)


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
        person = (*_reader(user), get_language(), timezone.localdate())
        return _answer(partial(work_out, user), work_out, person, given, named, changed_at=lambda: _held.answers_at)

    return held


def held_beside_parts(work_out):
    """Marks a reading without a person of what is on file of lots: it is read again after what concerns lots."""

    @wraps(work_out)
    def held(*given, **named):
        return _answer(work_out, work_out, None, given, named, changed_at=lambda: _held.lots_at)

    return held


def _answer(ask, work_out, person, given, named, *, changed_at):
    """The held answer, or that of `ask` where nothing is held or what is held is of other records."""
    if not are_held():
        return ask(*given, **named)
    key = (work_out.__module__, work_out.__qualname__, person, given, tuple(sorted(named.items())))
    # the number is taken before the records are read: a write in between makes the answer newer than its number, and it is asked again
    number, found = _held.follow(), _held.place(_held.answers, key, ANSWERS_MOST)
    with found.lock:
        if found.is_past(changed_at()):
            found.value, found.made_at = ask(*given, **named), monotonic()
        found.number = max(found.number, number)
        return found.value


def held_by_part(model, of_all=dict, put_in=None):
    """Marks a reading by part: `read(user, parts, *given)` gives {part: rows} of some parts (a set of keys), of all for None.

    A part without rows is left out. Parts are in the order of their keys. After a write the parts that it concerns are read again.
    Whoever may see all rows of `model` shares what is held. What the marked reading gives is `of_all` of the parts, which must not be
    changed by whoever gets it. `put_in(value, before, again)` may make it from the earlier value and the parts concerned, {part: rows} as
    they were and as they are; where it gives None it is made of all.
    """

    def mark(read):
        @wraps(read)
        def held(user, *given):
            if not are_held():
                return of_all(_in_order(read(user, None, *given)))
            person = (ALL if sees_all(user, model) else _reader(user), get_language(), timezone.localdate())
            number, found = _held.follow(), _held.place(_held.parts, (read.__module__, read.__qualname__, person, given), PARTS_MOST)
            with found.lock:
                concerned = found.concerned()
                if concerned is None:
                    parts, found.made_at = _in_order(read(user, None, *given)), monotonic()
                    found.value = parts, of_all(parts)
                elif concerned:
                    parts, value = found.value
                    before, again = {part: parts[part] for part in concerned & parts.keys()}, read(user, concerned, *given)
                    parts = _put_in(parts, before, again)
                    value = put_in(value, before, again) if put_in else None
                    found.value = parts, of_all(parts) if value is None else value
                found.number = max(found.number, number)
                return found.value[1]

        return held

    return mark


def _reader(user):
    """Who asks, and which rows they may see."""
    return user.pk, user.role, user.is_active, scope_key(user, user.role)


def _put_in(parts, before, again):
    """Parts with those that were read again in place of what they were; what is held is left as it is."""
    if before.keys() == again.keys():
        return parts | again
    return _in_order({part: rows for part, rows in parts.items() if part not in before} | again)


def _in_order(parts):
    return dict(sorted(parts.items()))
