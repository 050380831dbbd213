"""Duties and clocks. Recurrences and units are those of the calculation."""

from django.db.models import TextChoices

from registry.choices.labels import text_choices
from registry.compliance.duties.clocks import UNITS
from registry.compliance.duties.recurrence import KINDS

Recurrence = text_choices("Recurrence", KINDS)
ClockUnit = text_choices("ClockUnit", UNITS)


class DutyKind(TextChoices):
    REPORT = "report", "report"
    FLOWERS = "flowers", "removal of flowers before pollen"
    VISIT = "visit", "monitoring visit"
    DESTROY = "destroy", "destruction by a day"
    RENEWAL = "renewal", "renewal"
    RULE_REVIEW = "rule_review", "review of a rule"
    OWNER = "owner", "contact with the owner"
    TRAINING = "training", "training"
    OTHER = "other", "other"


def duty_kinds():
    return DutyKind.choices


def recurrences():
    return Recurrence.choices


def clock_units():
    return ClockUnit.choices
