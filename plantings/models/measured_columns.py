"""The columns of the measurements, and what the database refuses in them: made from their table."""

from functools import partial

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy

from plantings.calc.census.measurements import CODE_LENGTH_MAX, MEASUREMENTS
from registry.models.shared.check_constraints import CheckConstraint


def class_choices(field):
    """The classes of a measurement by the name of its column."""
    return [(code, gettext_lazy(label)) for item in MEASUREMENTS if item.field == field for code, label, _ in item.classes]


def choices_of(item):
    """The choices of a measurement, as a function that migrations can name."""
    return partial(class_choices, item.field)


def measured_column(item):
    """The column of a measurement: a blank says that nobody looked."""
    if item.is_word:
        return models.CharField(max_length=CODE_LENGTH_MAX, choices=choices_of(item), blank=True)
    kind = models.PositiveSmallIntegerField if item.is_whole else models.FloatField
    return kind(item.column_title or None, null=True, blank=True)


def range_constraint(item):
    """The range of a measurement. A column of whole numbers holds nothing below 0 anyway."""
    lowest = {} if item.is_whole and item.low == 0 else {f"{item.field}__gte": item.low}
    inside = Q(**lowest, **{f"{item.field}__lte": item.high})
    return CheckConstraint(condition=Q(**{f"{item.field}__isnull": True}) | inside, name=f"observation_{item.name}_range")
