"""The thresholds the programme sets for itself."""

from django.core.exceptions import ValidationError

from registry.models import ProgrammeSetting
from registry.selectors.people.programme import parse_setting
from registry.services.audit.write import write
from registry.services.shared.records import record_save

__all__ = ["after_setting", "programme_setting_save"]

_AFTER = {}  # {key: what follows from a change of the setting}


def after_setting(key, follow):
    """Called once by an app whose stored figures depend on a setting: `follow()` runs in the write that changes it."""
    _AFTER[key] = follow


@write
def programme_setting_save(*, actor, key, value, owner, set_on, basis=""):
    """Set one threshold of the programme; the value before stays in the history.

    Raises ValidationError naming the field, when the value is not of the threshold's type.
    """
    try:
        value = str(parse_setting(key, value))
    except ValueError as error:
        raise ValidationError({"value": str(error)}) from error
    record = ProgrammeSetting.objects.filter(key=key).first() or ProgrammeSetting(key=key)
    record.value, record.owner, record.set_on, record.basis = value, owner, set_on, basis
    record_save(actor=actor, obj=record, reason=basis)
    if key in _AFTER:
        _AFTER[key]()
    return record
