"""Measured shares of the donor species. They never replace the expected ones."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.models import MeasuredShare
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["share_enter"]


@write
def share_enter(*, actor, tree=None, lot=None, **values):
    """Store a measured donor share of a tree or of a lot. `values` are the fields of MeasuredShare.

    Raises ValidationError naming the field.
    """
    record = MeasuredShare(tree=tree, lot=lot, **values, entered_by=actor, entered_at=timezone.now())
    record.full_clean()
    if record.standard_error is not None and record.standard_error < 0:
        raise ValidationError({"standard_error": "A standard error is 0 or more."})
    append_row(record)
    audit_record(actor=actor, verb="measuredshare.added", obj=record)
    return record
