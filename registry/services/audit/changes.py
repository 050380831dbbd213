"""What changed in a record, as JSON values for its audit entry."""

import datetime
from decimal import Decimal

from django.conf import settings
from django.utils import translation

__all__ = ["changes_between", "field_values", "named_changes"]

# Never copied into the audit trail: a secret, and a stamp that nobody decides.
_LEFT_OUT = {"password", "last_login"}


def record_words(record):
    """A record in the words of the audit trail, which are English whoever writes."""
    with translation.override(settings.LANGUAGE_CODE):
        return str(record)


def field_values(obj):
    """The stored values of a record, as they go into the audit trail."""
    return {field.name: _json_value(field.value_from_object(obj)) for field in obj._meta.concrete_fields if field.name not in _LEFT_OUT}


def changes_between(before, after):
    return {name: [before.get(name), value] for name, value in after.items() if before.get(name) != value}


def named_changes(before, after, changes):
    """Changes with each linked record by its name: in ten years a key means nothing to a reader."""
    for name in changes:
        if after._meta.get_field(name).is_relation:
            changes[name] = [_name(getattr(record, name)) for record in (before, after)]
    return changes


def _name(record):
    return None if record is None else record_words(record)


def _json_value(value):
    if isinstance(value, (datetime.date, datetime.datetime)):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, (str, int, float, bool, type(None), list, dict)):
        return value
    return str(value)
