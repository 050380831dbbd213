"""Taking back what a load stored, by the means of every correction: opposite ledger entries, reviews, corrections, rows that are withdrawn;
plain records that nothing rests on leave the tables, or stay marked where rejected records name them, or closed where they are lots with a
ledger. The audit trail keeps everything they said."""

from collections.abc import Callable

from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone

from registry.choices import LedgerKind
from registry.models import LedgerEntry, Load, LoadWithdrawal, Lot, PedigreeTree, TreeStatusRecord
from registry.models.append_only import AppendOnly
from registry.models.audit import stored_name
from registry.selectors.loads.resting import AT_ONCE, counted_models, goes_with, hindrances
from registry.selectors.loads.staying import staying_records
from registry.services.audit.changes import field_values
from registry.services.audit.trail import append_row, audit_record, state_note
from registry.services.audit.write import write
from registry.services.loads.rows import WAYS, lots_follow, trees_leave_orchard
from registry.services.lots.ledger import ledger_reverse_loaded, lot_close

__all__ = ["after_removal", "load_withdraw", "marked_by", "taken_back_by"]


def _reverse_entries(actor, load, made, reason):
    entries = LedgerEntry.objects.in_effect().filter(pk__in=made[LedgerEntry]).select_related("lot", "counterpart")
    for entry in sorted(entries, key=_turn):
        ledger_reverse_loaded(actor=actor, entry=entry, reason=reason)


# losses first, so that no balance falls below zero; what was raised before the seed it was sown from
_TURNS = {LedgerKind.RAISED: 1, LedgerKind.SOWN: 2}


def _turn(entry):
    return _TURNS.get(entry.kind, 3 if entry.quantity > 0 else 0), -entry.pk


_WAYS: dict[type, Callable] = {LedgerEntry: _reverse_entries, **WAYS}
_BEFORE_OTHERS = TreeStatusRecord  # a tree gets its earlier cells again only where its history says the same
_MARKS: dict[type, Callable] = {}
_AFTER: dict[type, Callable] = {}


def taken_back_by(model, take_back):
    """Called once by an app whose append-only records can be taken back: `take_back(actor, load, made, reason)` does it,
    where `made` has the keys of what the load stored, by type."""
    _WAYS[model] = take_back


def marked_by(model, mark):
    """Called once by an app whose plain records may be named by append-only ones: `mark`, a write with the arguments `load`, `records` and
    `reason`, marks those as withdrawn, so that nothing else finds them, and returns their keys. The others are removed."""
    _MARKS[model] = mark


def after_removal(model, follow):
    """Called once by an app where something follows from plain records: `follow(actor, records)` corrects it once they are gone."""
    _AFTER[model] = follow


@write
def load_withdraw(*, actor, load, reason, changed, restore=None):
    """Withdraw a load as one: everything it stored is taken back, or nothing is.

    Parameters
    ----------
    changed : the records it changed, as `hindrances` takes them
    restore : function of (actor, reason), which gives the records that the load changed their earlier cells again

    Raises
    ------
    ValidationError
        Without a reason, for a load that was withdrawn already, or while anything rests on what it stored.
    """
    reason = reason.strip()
    if not reason:
        raise ValidationError({"reason": "Say why the load is withdrawn."})
    load = Load.objects.select_for_update().get(pk=load.pk)
    if load.withdrawn:
        raise ValidationError("This load is already withdrawn.")
    if found := hindrances(load, changed):
        raise ValidationError([hindrance.words for hindrance in found])
    why = f"load {load.pk} withdrawn: {reason}"[:200]
    made, gone, staying = goes_with(load), [], staying_records(load)
    if _BEFORE_OTHERS in made:
        _WAYS[_BEFORE_OTHERS](actor, load, made, why)
    if restore is not None and load.before:
        restore(actor, why)
    for model, keys in reversed(made.items()):
        if model in _WAYS and model is not _BEFORE_OTHERS:
            _WAYS[model](actor, load, made, why)
        elif not issubclass(model, AppendOnly):
            stay = staying.get(model, ())
            gone.append((model, _remove(actor, load, model, [key for key in keys if key not in stay], why)))
    for model, records in gone:
        if model in _AFTER:
            _AFTER[model](actor, records)
    lots_follow(actor, load, made, why)
    _close_lots(actor, sorted(staying.get(Lot, ())), why)
    trees_leave_orchard(actor, sorted(staying.get(PedigreeTree, ())), why)
    withdrawal = LoadWithdrawal(load=load, reason=reason, entered_by=actor, entered_at=timezone.now())
    withdrawal.full_clean()
    append_row(withdrawal)
    audit_record(actor=actor, verb="load.withdrawn", obj=load, reason=reason)
    return withdrawal


def _close_lots(actor, keys, reason):
    """Lots that stay with reversed entries take no more of them; one that is only named as the other lot has no ledger to close."""
    for start in range(0, len(keys), AT_ONCE):
        for lot in Lot.objects.filter(pk__in=keys[start : start + AT_ONCE], ledger__isnull=False).distinct():
            lot_close(actor=actor, lot=lot, on=timezone.localdate(), reason=reason)


def _remove(actor, load, model, keys, reason):
    """Plain records leave their table, or are marked; the audit trail gets all they said. Returns the records as they were."""
    removed = []
    for start in range(0, len(keys), AT_ONCE):
        rows = model._base_manager.filter(pk__in=keys[start : start + AT_ONCE])
        records = list(rows)
        for record in records:
            said = {name: [value, None] for name, value in field_values(record).items() if value not in (None, "")}
            audit_record(actor=actor, verb=f"{stored_name(model)}.withdrawn", obj=record, changes=said, reason=reason)
            state_note(model, record)
        found = [record.pk for record in records]
        for field in model._meta.many_to_many:
            through = field.remote_field.through
            _delete(through._base_manager.filter(**{f"{field.m2m_field_name()}__in": found}))
        for counts in counted_models():
            for field in counts._meta.fields:
                if field.related_model is model:
                    _delete(counts._base_manager.filter(**{f"{field.name}__in": found}))
        marked = _MARKS[model](actor=actor, load=load, records=records, reason=reason) if model in _MARKS else ()
        _delete(model._base_manager.filter(pk__in=found).exclude(pk__in=marked))
        removed += records
    return removed


def _delete(rows):
    # past the collector, which would look for rows that point to these: it was asked before whether anything does
    QuerySet(rows.model).filter(pk__in=list(rows.values_list("pk", flat=True)))._raw_delete(rows.db)
