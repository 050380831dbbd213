"""Comparing columns with whole numbers of any size."""

import math

from django.db.models import ForeignObject, IntegerField
from django.db.models.fields.related_lookups import (
    RelatedExact,
    RelatedGreaterThan,
    RelatedGreaterThanOrEqual,
    RelatedIn,
    RelatedLessThan,
    RelatedLessThanOrEqual,
)
from django.db.models.lookups import In, Range

_SQLITE_MOST = 2**63 - 1  # its driver raises for a number of more than 64 bits: sqlite.org/datatype3.html
_OF_NUMBERS = (In, Range)  # Django itself looks at the number of the others
_OF_KEYS = (RelatedIn, RelatedExact, RelatedLessThan, RelatedLessThanOrEqual, RelatedGreaterThan, RelatedGreaterThanOrEqual)

__all__ = ["compare_numbers_of_any_size"]


class _AnySize:
    """A comparison on SQLite: a number of more than 64 bits, wherever somebody typed it, is above or below each that a column holds."""

    def as_sqlite(self, compiler, connection):
        sql, params = self.as_sql(compiler, connection)
        return sql, [_held(value) for value in params]


def _held(value):
    beyond = isinstance(value, int) and not -_SQLITE_MOST - 1 <= value <= _SQLITE_MOST
    return (math.inf if value > 0 else -math.inf) if beyond else value


def compare_numbers_of_any_size():
    """Called once, at the start. PostgreSQL compares such numbers as they are."""
    for field, comparisons in ((IntegerField, _OF_NUMBERS), (ForeignObject, _OF_KEYS)):
        for comparison in comparisons:
            field.register_lookup(type(comparison.__name__, (_AnySize, comparison), {}))
