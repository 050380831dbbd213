"""A sheet that was loaded, as a record: what it stored, and what became of the rows it set aside."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from registry.calc.sheets.key_ranges import key_ranges
from registry.models import Load, RowsSettled
from registry.models.audit import stored_name
from registry.selectors.loads.loads import open_load, rows_still_out
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["load_record", "rows_leave_out", "rows_tick_off"]


@write
def load_record(*, actor, upload, spec, reason, counts, made, before, aside, changes):
    """Record what loading an uploaded file has stored, in the write that stored it.

    Parameters
    ----------
    made : dict of {model: keys of the records it made}
    before : list of [key, {column: cell as it was}] for each record it changed; of several kinds {kind: such a list}
    aside : list of [row of the file, what to correct]
    changes : dict of {what: [None, how many or what]}, as the audit trail says what was stored
    """
    stored = {stored_name(model): key_ranges(keys) for model, keys in made.items() if keys}
    load = Load(
        upload=upload, kind=upload.kind, filename=upload.filename, sha256=upload.sha256, spec=spec, reason=reason, counts=counts,
        stored=stored, before=before, aside=aside, aside_count=len(aside), entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    load.full_clean()
    append_row(load)
    audit_record(actor=actor, verb="load.added", obj=load, changes=changes, reason=reason)
    return load


@write
def rows_tick_off(*, actor, load, came):
    """Rows that came with a load settle the rows that earlier loads of its kind had set aside: `came` are (key of a load, row) pairs."""
    by_load = {}
    for key, row in came:
        by_load.setdefault(key, set()).add(row)
    for key, rows in sorted(by_load.items()):
        earlier = open_load(key, load.kind)
        if earlier is not None and earlier.pk != load.pk:
            _settle(actor, earlier, rows, by=load, reason=f"came with load {load.pk}")


@write
def rows_leave_out(*, actor, load, reason):
    """The rows of a load that are still out will not come: somebody says why. Returns how many they were."""
    if not reason.strip():
        raise ValidationError({"reason": "Say why these rows are left out."})
    out = {row for row, _words in rows_still_out(load)}
    if not out:
        raise ValidationError("No row of this load is out any longer.")
    return _settle(actor, load, out, by=None, reason=reason.strip())


def _settle(actor, load, rows, by, reason):
    Load.objects.select_for_update().get(pk=load.pk)  # of two people who settle the same rows the second finds none
    out = sorted(rows & {row for row, _words in rows_still_out(load)})
    if out:
        settled = RowsSettled(load=load, by=by, rows=out, count=len(out), reason=reason, entered_by=actor, entered_at=timezone.now())
        settled.full_clean()
        append_row(settled)
        audit_record(actor=actor, verb="load.rows_settled", obj=load, changes={"rows settled": [None, len(out)]}, reason=reason)
    return len(out)
