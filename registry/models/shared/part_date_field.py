"""The column of a date of which only the year, or the year and the month, may be known."""

import datetime

from django.core.exceptions import ValidationError
from django.db import models

from registry.calc.shared.part_dates import PartDate, read_some_date

__all__ = ["PartDateField"]

_DAY_LENGTH = len("2019-05-12")


class PartDateField(models.Field):
    """A year, a month or a day, stored as ISO 8601 writes it: 2019, 2019-05, 2019-05-12.

    A value is a `date` where the day is known, otherwise a `PartDate`. What a record says is what its column holds, so that nothing that
    reads one has to remember that a day may not be one.
    """

    description = "Date of which only the year or the month may be known"
    empty_strings_allowed = False

    def db_type(self, connection):
        return f"varchar({_DAY_LENGTH})"

    def from_db_value(self, value, expression, connection):
        if value is None:
            return None
        return datetime.date.fromisoformat(value) if len(value) == _DAY_LENGTH else read_some_date(value)

    def to_python(self, value):
        if isinstance(value, datetime.datetime):
            return value.date()
        if value is None or isinstance(value, (datetime.date, PartDate)):
            return value
        try:
            return read_some_date(str(value))
        except ValueError:
            raise ValidationError("“%(value)s” is not a date. Write it as 2019, 2019-05 or 2019-05-12.", params={"value": value}) from None

    def get_prep_value(self, value):
        value = self.to_python(super().get_prep_value(value))
        return None if value is None else value.isoformat()

    def value_to_string(self, obj):
        value = self.value_from_object(obj)
        return "" if value is None else value.isoformat()
