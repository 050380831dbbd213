"""Storage checks, and the handbook of species."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.choices import LedgerKind
from registry.models import StorageRecord
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.lots.ledger import ledger_enter
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = ["handbook_save", "handbook_verify", "storage_enter"]

# the fruit and the bath have a source of their own: the printed page says nothing of them
_NOT_FIGURES = {
    "id", "note", "verified_on", "verified_by", "fruit", "bath_c_low", "bath_c_high", "bath_minutes", "bath_against", "bath_source",
}  # fmt: skip


@write
def storage_enter(*, actor, lot, on, place, discarded=0, **fields):
    """Record a storage check. What was discarded leaves the ledger; the newest check says where the lot is stored."""
    day_check(on=on)
    entry = None
    if discarded:
        reason = f"discarded at {place}: mouldy, broken or dead"[:200]
        entry = ledger_enter(actor=actor, lot=lot, kind=LedgerKind.DISCARDED, quantity=discarded, on=on, reason=reason)
    record = StorageRecord(lot=lot, on=on, place=place, entry=entry, entered_by=actor, entered_at=timezone.now(), **fields)
    record.full_clean()
    append_row(record)
    audit_record(actor=actor, verb="storagerecord.added", obj=record)
    if lot.storage_place != place and not lot.storage_log.filter(on__gt=on).exists():
        lot.refresh_from_db()
        lot.storage_place = place
        record_save(actor=actor, obj=lot, reason="as found at a storage check")
    return record


@write
def handbook_save(*, actor, row, reason=""):
    """Store a row of the handbook. When a figure changes, the row is no longer verified."""
    before = type(row)._base_manager.filter(pk=row.pk).first() if row.pk else None
    if before and any(getattr(before, name) != getattr(row, name) for name in _figures(row)):
        row.verified_on, row.verified_by = None, ""
    return record_save(actor=actor, obj=row, reason=reason)


@write
def handbook_verify(*, actor, row, on, by):
    """State that every figure of a row was checked against the printed page."""
    if not by.strip():
        raise ValidationError({"by": "Say who checked it against the printed page."})
    row.verified_on, row.verified_by = on, by
    return record_save(actor=actor, obj=row, reason="checked against the printed page")


def _figures(row):
    return [field.name for field in row._meta.concrete_fields if field.name not in _NOT_FIGURES]
