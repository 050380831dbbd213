"""Who may correct a census record, and how the correction comes in; the same for an observation and the count of a plot."""

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.choices import Arrival
from plantings.selectors.census.records import may_correct


def corrected_as(actor):
    """How a correction comes in: accepted by whom reviews records, otherwise received."""
    return (Arrival.ACCEPTED if actor.may("observation.review") else Arrival.RECEIVED).value


def check_correction(actor, record, reason):
    """Refuse the correction of an observation or a plot count by who may not, without a reason, or a second time."""
    is_asked_back = type(record).objects.asked_back().filter(pk=record.pk)
    if not may_correct(actor, record, timezone.localdate()) and not (actor.may("census.enter") and is_asked_back.exists()):
        raise ValidationError(gettext("You can correct your own records while the round is open. Ask the coordinator to correct this one."))
    if not reason.strip():
        raise ValidationError({"reason": gettext("Say why the earlier record is corrected.")})
    if type(record).objects.filter(supersedes=record).exists():
        raise ValidationError(gettext("This record is already corrected. Correct the newest one."))
