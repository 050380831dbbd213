"""Plain edits of a record. Even a trivial edit passes here, so that the audit trail cannot be skipped."""

from registry.models.audit import stored_name
from registry.services.audit.changes import changes_between, field_values, named_changes
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write


@write
def record_save(*, actor, obj, many=None, reason=""):
    """Check and store a record, with its audit entry; a save that changes nothing leaves no entry.

    Parameters
    ----------
    actor : Person
    obj : model instance, new or changed
    many : dict of {many-to-many field name: list of records}, optional

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field, when the record breaks a rule of its own row.
    """
    obj.full_clean()
    model = type(obj)
    before = model._base_manager.filter(pk=obj.pk).first() if obj.pk else None
    old = field_values(before) if before else {}
    obj.save()
    changes = named_changes(before, obj, changes_between(old, field_values(obj))) if before else {}
    for name, records in (many or {}).items():
        manager = getattr(obj, name)
        had = sorted(str(record) for record in manager.all())
        manager.set(records)
        has = sorted(str(record) for record in records)
        if had != has:
            changes[name] = [had, has]
    if before is None or changes:
        verb = f"{stored_name(model)}.{'changed' if before else 'added'}"
        audit_record(actor=actor, verb=verb, obj=obj, changes=changes, reason=reason)
    return obj
