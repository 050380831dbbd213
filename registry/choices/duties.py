"""Duties and clocks. Recurrences and units are those of the calculation."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy

from registry.choices.labels import text_choices
from registry.compliance.duties.clocks import UNITS
from registry.compliance.duties.recurrence import KINDS

Recurrence = text_choices("Recurrence", KINDS)
ClockUnit = text_choices("ClockUnit", UNITS)


class DutyKind(TextChoices):
    REPORT = "report", gettext_lazy("report")
    FLOWERS = "flowers", gettext_lazy("removal of flowers before pollen")
    VISIT = "visit", gettext_lazy("monitoring visit")
    DESTROY = "destroy", gettext_lazy("destruction by a day")
    RENEWAL = "renewal", gettext_lazy("renewal")
    RULE_REVIEW = "rule_review", gettext_lazy("review of a rule")
    OWNER = "owner", gettext_lazy("contact with the owner")
    TRAINING = "training", gettext_lazy("training")
    OTHER = "other", gettext_lazy("other")


def duty_kinds():
    return DutyKind.choices


def recurrences():
    return Recurrence.choices


def clock_units():
    return ClockUnit.choices
