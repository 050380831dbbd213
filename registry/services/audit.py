"""The audit trail: every write leaves who, when, what changed and, for corrections, why."""

import datetime
from decimal import Decimal

from django.utils import timezone

from registry.models import AuditEntry


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
    """Append one audit entry. `verb` is `<record type>.<what happened>`, such as "lot.added"."""
    return AuditEntry.objects.create(**_entry(actor, verb, obj, changes, reason))


def audit_record_many(*, actor, verb, objs, reason=""):
    """One audit entry for each of many records added at once."""
    AuditEntry.objects.bulk_create([AuditEntry(**_entry(actor, verb, obj, None, reason)) for obj in objs], batch_size=500)


def _entry(actor, verb, obj, changes, reason):
    return {
        "actor": actor,
        "at": timezone.now(),
        "verb": verb,
        "record_type": obj._meta.model_name,
        "record_id": obj.pk,
        "record_label": str(obj)[:120],
        "changes": changes or {},
        "reason": reason,
    }
