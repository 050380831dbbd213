"""Records self-sown seedlings. No tally, no survival figure and no count of trees reads them."""

from uuid import uuid4

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.models import Planting, SelfSown
from plantings.selectors.census.records import may_correct
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check

__all__ = ["self_sown_correct", "self_sown_record"]


@write
def self_sown_record(*, actor, census_round, place, observed_on, seedlings=None, observer="", note="", supersedes=None, reason=""):
    """Record seedlings at a place, with their number where they were counted; 0 says that somebody looked and found none."""
    planting = Planting.objects.select_for_update().get(pk=census_round.planting_id)
    day_check(observed_on=observed_on)
    found = SelfSown(
        uuid=uuid4(), round=census_round, place=place.strip(), seedlings=seedlings, observed_on=observed_on, observer=observer, note=note,
        entered_by=actor, received_at=timezone.now(), supersedes=supersedes, reason=reason,
    )  # fmt: skip
    found.full_clean()
    append_row(found)
    audit_record(actor=actor, verb="planting.self_sown_recorded", obj=planting, changes={"self-sown": [None, 1]}, reason=reason)
    return found


@write
def self_sown_correct(*, actor, record, reason, **changes):
    """Correct such a record by a new one; the record itself stays. Who may do so is as for an observation."""
    Planting.objects.select_for_update().get(pk=record.round.planting_id)  # of two corrections the second waits, and sees the first
    if not may_correct(actor, record, timezone.localdate()):
        raise ValidationError(gettext("You can correct your own records while the round is open. Ask the coordinator to correct this one."))
    if not reason.strip():
        raise ValidationError({"reason": gettext("Say why the earlier record is corrected.")})
    if SelfSown.objects.filter(supersedes=record).exists():
        raise ValidationError(gettext("This record is already corrected. Correct the newest one."))
    names = ("place", "seedlings", "observed_on", "observer", "note")
    values = {name: getattr(record, name) for name in names} | changes
    return self_sown_record(actor=actor, census_round=record.round, supersedes=record, reason=reason, **values)
