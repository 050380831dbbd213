"""The audit trail: who did what and why, and the hash of every append-only row, in one chain of entries.

Services call `audit_record` and `append_row`. Both note what happened in the open write (`registry.services.audit.write`), which adds it
to the chain by `trail_append` just before its transaction ends. So a row and its hash are stored together, or neither is.
"""

import json
from collections import Counter, defaultdict
from contextvars import ContextVar
from dataclasses import dataclass, field

from django.db.models import QuerySet
from django.db.models.signals import post_save
from django.dispatch import receiver
from django.utils import timezone

from registry.calc.audit.chain import chain_sha256
from registry.models import AuditEntry, AuditHead
from registry.models.audit import stored_name
from registry.models.shared.among import Keys
from registry.selectors.audit.record_hashes import HASHES, record_hashes, row_name, sum_words
from registry.selectors.audit.record_states import STATED, state_key, state_name, states_of
from registry.services.audit.changes import record_words
from registry.services.shared.bulk_insert import bulk_insert

__all__ = [
    "OPEN_WRITE",
    "OpenWrite",
    "OutsideWrite",
    "append_in_bulk",
    "append_row",
    "append_rows",
    "audit_record",
    "made_note",
    "state_note",
    "trail_append",
]

OPEN_WRITE = ContextVar("open_write", default=None)
_ROWS_AT_ONCE = 500


class OutsideWrite(RuntimeError):
    """Something was recorded while no write was open: the service lacks `@write`."""

    def __init__(self):
        super().__init__("No write is open. Mark the service with @write, from registry.services.audit.write.")


@dataclass(slots=True)
class OpenWrite:
    """What a write has done so far and the chain does not hold yet."""

    entries: list = field(default_factory=list)  # fields of an AuditEntry each
    rows: list = field(default_factory=list)  # (model, key, number of the entry that takes its hash)
    in_bulk: Counter = field(default_factory=Counter)  # {model: rows stored less rows whose sum an entry has}
    models: set = field(default_factory=set)  # types of the records it wrote
    states: set = field(default_factory=set)  # (model, key) of records whose state goes into the trail
    made: dict = field(default_factory=lambda: defaultdict(list))  # {model: keys of the records it made}
    is_trial: bool = False  # everything is taken back at its end

    def take_over(self, inner):
        """What a write inside this one has done, once that has ended well."""
        before = len(self.entries)
        self.rows += [(model, key, before + number) for model, key, number in inner.rows]
        self.entries += inner.entries
        self.in_bulk.update(inner.in_bulk)
        self.models |= inner.models
        self.states |= inner.states
        for model, keys in inner.made.items():
            self.made[model] += keys


def _open_write():
    found = OPEN_WRITE.get()
    if found is None:
        raise OutsideWrite
    return found


def audit_record(*, actor, verb, obj, changes=None, reason="", in_bulk=None):
    """Add an audit entry about a stored record to the open write.

    Parameters
    ----------
    verb : str
        `<record type>.<what happened>`, such as "lot.added".
    changes : dict of {field: [before, after]}, optional
    in_bulk : (model, keys of records), optional
        Rows stored by `append_in_bulk`: the entry holds how many they are and the sum of their hashes.
    """
    now = _open_write()
    # as the database gives it back, so that the hash of what was written is the hash of what is read
    changes = json.loads(json.dumps(changes)) if changes else {}
    if in_bulk is not None:
        model, keys = in_bulk
        hashes = [sha256 for _key, sha256 in _hashes_of(model, keys)]
        now.made[model] += keys
        changes[HASHES] = [None, {stored_name(model): {"rows": len(hashes), "sum": sum_words(hashes)}}]
        now.in_bulk[model] -= len(hashes)
    now.models.add(type(obj))
    now.entries.append(
        {
            "actor": actor,
            "at": timezone.now(),
            "verb": verb,
            "record_type": stored_name(obj),
            "record_id": obj.pk,
            "record_label": record_words(obj)[:120],
            "changes": changes,
            "reason": reason,
        }
    )


def state_note(model, record):
    """The open write adds the state of a record (or of its group of rows) to the trail. Saves note themselves; bulk inserts call this."""
    now = OPEN_WRITE.get()
    if now is not None and model in STATED:
        now.states.add((model, state_key(model, record)))


def made_note(model, keys):
    """The open write made these records. Saves note themselves; bulk inserts of records that a load can be asked about call this."""
    now = OPEN_WRITE.get()
    if now is not None:
        now.made[model] += keys


@receiver(post_save)
def _note_save(sender, instance, created=False, update_fields=None, **kwargs):
    if created:
        made_note(sender, [instance.pk])
    stated = STATED.get(sender)
    if stated and (update_fields is None or {name.removesuffix("_id") for name in stated.names} & set(update_fields)):
        state_note(sender, instance)


def append_row(row):
    """Store one checked append-only record. The next audit entry of the write holds its hash. Returns the record."""
    append_rows([row])
    return row


def append_rows(rows):
    """Store checked append-only records of one type, as `append_row` does. Returns them."""
    now = _open_write()
    if not rows:
        return rows
    model = type(rows[0])
    QuerySet(model).bulk_create(rows, batch_size=_ROWS_AT_ONCE)  # past the manager of the model, which refuses this
    now.models.add(model)
    now.made[model] += [row.pk for row in rows]
    now.rows += [(model, row.pk, len(now.entries)) for row in rows]
    return rows


def append_in_bulk(model, names, rows):
    """Store thousands of checked append-only rows the fast way (see `bulk_insert`).

    The service then says by `audit_record(in_bulk=...)` which entry holds the sum of their hashes; a write that leaves some out fails.
    """
    now = _open_write()
    now.in_bulk[model] += bulk_insert(model, names, rows)


def trail_append(write):
    """Add what a write has done to the chain. Writers wait for each other here, at the lock of its head."""
    if left_out := {model.__name__: count for model, count in write.in_bulk.items() if count}:
        raise RuntimeError(f"Rows stored in bulk and rows in audit entries differ: {left_out}")
    if write.rows and not write.entries:
        write.entries.append(_entry_of_row(*write.rows[0][:2]))
    if not write.entries:
        return
    _add_hashes(write)
    _add_states(write)
    head, _made = AuditHead.objects.select_for_update().get_or_create(pk=1)
    for start in range(0, len(write.entries), _ROWS_AT_ONCE):
        entries = [AuditEntry(**fields) for fields in write.entries[start : start + _ROWS_AT_ONCE]]
        for entry in entries:
            entry.previous_sha256, entry.sha256 = head.sha256, chain_sha256(head.sha256, entry.content)
            head.sha256 = entry.sha256
        QuerySet(AuditEntry).bulk_create(entries)
    head.entries += len(write.entries)
    head.save()


def _entry_of_row(model, key):
    """The entry of a write whose service made none: a line of a ledger says itself who entered it, and when."""
    row = model._base_manager.select_related("entered_by").get(pk=key)
    return {
        "actor": row.entered_by, "at": timezone.now(), "verb": f"{stored_name(model)}.added", "record_type": stored_name(model),
        "record_id": key, "record_label": record_words(row)[:120], "changes": {}, "reason": "",
    }  # fmt: skip


def _add_hashes(write):
    """Put the hash of each append-only row into its entry, or the last one. Rows are read again, as `verify` will read them."""
    last = len(write.entries) - 1
    numbers = defaultdict(dict)
    for model, key, number in write.rows:
        numbers[model][key] = min(number, last)
    for model, by_key in numbers.items():
        for key, sha256 in _hashes_of(model, by_key):
            changes = write.entries[by_key[key]]["changes"]
            changes.setdefault(HASHES, [None, {}])[1][row_name(model, key)] = sha256


def _hashes_of(model, keys):
    """(key, hash) of stored rows, read by their keys alone: the cost does not depend on what else the table holds."""
    return record_hashes(model._base_manager.filter(pk__among=Keys(keys)), most=len(keys))


def _add_states(write):
    """Put the state of each record that was written into the entry about it, or the last one; None for one that is gone."""
    number_of = {(entry["record_type"], entry["record_id"]): number for number, entry in enumerate(write.entries)}
    keys = defaultdict(list)
    for model, key in write.states:
        keys[model].append(key)
    for model, wanted in keys.items():
        wanted.sort()
        for start in range(0, len(wanted), _ROWS_AT_ONCE):
            keys_now = wanted[start : start + _ROWS_AT_ONCE]
            for name, state in (dict.fromkeys(state_name(model, key) for key in keys_now) | dict(states_of(model, keys_now))).items():
                record = (model._meta.model_name, int(name.rpartition(" ")[2]))
                changes = write.entries[number_of.get(record, len(write.entries) - 1)]["changes"]
                changes.setdefault(HASHES, [None, {}])[1][name] = state
