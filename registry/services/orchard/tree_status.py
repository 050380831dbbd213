"""Steps of the status history of a tree. The status on the tree repeats its last step and is set in no other way."""

from django.core.exceptions import ValidationError
from django.db.models import F
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.choices import TreeStatus
from registry.models import PedigreeTree, TreeStatusRecord
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check
from registry.services.shared.records import record_save

__all__ = ["tree_status_follow", "tree_status_repeat", "tree_status_set"]


@write
def tree_status_set(*, actor, tree, status, on, reason, stump_treated=None):
    """Add a step to the history of a tree and repeat the last one on the tree.

    Parameters
    ----------
    actor : Person
    tree : PedigreeTree
        Locked and read again; the object passed in is updated.
    status : str
        A status of `TreeStatus`; back to standing too, with a reason.
    on : datetime.date or None
        None only where the day is not known. A step before the last one is added to the history and does not change the tree. Of two
        steps of one day the one entered later counts, which is how a mistaken step is corrected.
    reason : str
    stump_treated : bool or None
        Of a rogued tree; None is not known.

    Raises
    ------
    django.core.exceptions.ValidationError
        Naming the field as the tree has it.
    """
    stored = PedigreeTree.objects.select_for_update().get(pk=tree.pk)
    if not reason.strip():
        raise ValidationError({"status_reason": "Say why the status changes."})
    if status != TreeStatus.ROGUED and stump_treated is not None:
        raise ValidationError({"stump_treated": "Only a rogued tree leaves a stump to treat. Leave this at “not known”."})
    if on:
        day_check(status_on=on)
    if on and stored.planted_year and on.year < stored.planted_year:
        raise ValidationError(
            {"status_on": f"{stored.code} was planted in {stored.planted_year}. Give a later day, or correct the planting year."}
        )
    record = _step(actor, stored, status, on, reason.strip(), stump_treated)
    tree_status_repeat(actor=actor, tree=stored, reason=record.reason)
    tree.refresh_from_db(fields=["status", "status_on", "status_reason"])
    return record


@write
def tree_status_follow(*, actor, tree):
    """Add the step that a sheet states by the status of the tree itself.

    Raises ValidationError when the history has a later step: an older step is entered on the page of the tree.
    """
    last = _last_step(tree)
    stated = (tree.status, tree.status_on, tree.status_reason)
    if stated == ((last.status, last.on, last.reason) if last else (TreeStatus.STANDING, None, "")):
        return None
    if last and last.on and (tree.status_on is None or tree.status_on < last.on):
        words = f"There is a later step on record: {last.get_status_display()} on {day_words(last.on)}."
        raise ValidationError({"status_on": f"{words} Enter older steps on the page of the tree."})
    return _step(actor, tree, tree.status, tree.status_on, tree.status_reason, None)


@write
def tree_status_repeat(*, actor, tree, reason):
    """Set the status of a tree to the last step of its history; without a step it stands."""
    last = _last_step(tree)
    tree.status, tree.status_on, tree.status_reason = (last.status, last.on, last.reason) if last else (TreeStatus.STANDING, None, "")
    return record_save(actor=actor, obj=tree, reason=reason)


def _step(actor, tree, status, on, reason, stump_treated):
    record = TreeStatusRecord(
        tree=tree, status=status, on=on, reason=reason, stump_treated=stump_treated, entered_by=actor, entered_at=timezone.now()
    )
    record.full_clean()
    append_row(record)
    audit_record(actor=actor, verb="treestatusrecord.added", obj=record, reason=reason)
    return record


def _last_step(tree):
    return TreeStatusRecord.objects.filter(tree=tree).order_by(F("on").asc(nulls_first=True), "id").last()
