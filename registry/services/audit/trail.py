"""The audit trail: every write leaves who, when, what changed and, for corrections, why."""

import datetime
import json
import threading
from collections import defaultdict
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from registry.calc.audit.chain import chain_sha256
from registry.models import AuditEntry, AuditHead
from registry.selectors.audit.record_hashes import KEPT, kept_name, record_hashes
from registry.services.identity.spread import identity_spread_after


def _plain(value):
    if isinstance(value, (datetime.date, datetime.datetime)):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, (str, int, float, bool, type(None), list, dict)):
        return value
    return str(value)


# Never copied into the audit trail: a secret, and a stamp that is no decision of anybody.
_LEFT_OUT = {"password", "last_login"}


def field_values(obj):
    """The stored values of a record, as they go into the audit trail."""
    return {field.name: _plain(field.value_from_object(obj)) for field in obj._meta.concrete_fields if field.name not in _LEFT_OUT}


def changes_between(before, after):
    return {name: [before.get(name), value] for name, value in after.items() if before.get(name) != value}


def named_changes(before, after, changes):
    """Changes in which a linked record stands by its name: a number means nothing to who reads it in ten years."""
    for name in changes:
        if after._meta.get_field(name).is_relation:
            changes[name] = [_name(getattr(record, name)) for record in (before, after)]
    return changes


def _name(record):
    return None if record is None else str(record)


def audit_record(*, actor, verb, obj, changes=None, reason=""):
    """Append one audit entry, of a record that is stored. `verb` is `<record type>.<what happened>`, such as "lot.added".

    No write goes without its entry, so this is also where open questions of identity follow what was written.
    """
    entry = _append([_entry(actor, verb, obj, changes, reason)])[0]
    identity_spread_after({type(obj)})
    return entry


def audit_record_many(*, actor, verb, objs, reason=""):
    """One audit entry for each of many records added at once."""
    _append([_entry(actor, verb, obj, None, reason) for obj in objs])
    identity_spread_after({type(obj) for obj in objs})


def _entry(actor, verb, obj, changes, reason):
    if getattr(obj, "APPEND_ONLY", False):
        _unbound.pks[type(obj)].add(obj.pk)  # those stored many at once send no signal
    return AuditEntry(
        actor=actor,
        at=timezone.now(),
        verb=verb,
        record_type=obj._meta.model_name,
        record_id=obj.pk,
        record_label=str(obj)[:120],
        # as the database gives it back, so that the hash of what was written is the hash of what is read
        changes=json.loads(json.dumps(changes or {})),
        reason=reason,
    )


_ROWS_AT_ONCE = 500


class _Unbound(threading.local):
    """Records that never change, written by this thread and not yet bound by an entry: {model: {pk}}."""

    def __init__(self):
        self.pks = defaultdict(set)


_unbound = _Unbound()


def record_remember(sender, instance, created, **_signal):
    """A record was stored: the next entry of its transaction binds it, or else one of its own once that has ended.

    Called for each record type that never changes (see `registry.apps`). The rows are read again when they are bound, so what
    was rolled back in between is passed over.
    """
    if created:
        _unbound.pks[sender].add(instance.pk)
        transaction.on_commit(_bind_rest, robust=True)


def _bind_rest():
    """Records that no entry followed, such as a line of a ledger: they carry who and when themselves, and are bound now."""
    for model, pks in list(_unbound.pks.items()):
        record = model._base_manager.filter(pk=max(pks)).first()
        actor = getattr(record, "entered_by", None) or getattr(record, "person", None)
        if actor:
            audit_record(actor=actor, verb=f"{model._meta.model_name}.kept", obj=record)  # binds the others too
            return


def _kept():
    """{name: hash} of what the next entry binds."""
    kept = {}
    for model, pks in _unbound.pks.items():
        ordered = sorted(pks)
        for start in range(0, len(ordered), _ROWS_AT_ONCE):
            some = ordered[start : start + _ROWS_AT_ONCE]
            kept |= {kept_name(model, pk): sha256 for pk, sha256 in record_hashes(model._base_manager.filter(pk__in=some))}
    _unbound.pks.clear()
    return kept


@transaction.atomic
def _append(entries):
    """Bind the entries to the chain. The lock of its head lines the writers up until their transaction ends."""
    if kept := _kept():
        entries[-1].changes[KEPT] = [None, kept | (entries[-1].changes.get(KEPT) or [None, {}])[1]]
    head, _made = AuditHead.objects.select_for_update().get_or_create(pk=1)
    for entry in entries:
        entry.previous_sha256, entry.sha256 = head.sha256, chain_sha256(head.sha256, entry.content)
        head.sha256 = entry.sha256
    head.entries += len(entries)
    made = AuditEntry.objects.bulk_create(entries, batch_size=500)
    head.save()
    return made
