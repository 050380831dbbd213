"""CHECK constraints, and unique ones with a condition, that Python tries before the database does.

Django asks the database about each CHECK of a record before it saves it: a query each, a seventh of the time of our saves. Most
conditions compare a few columns, and Python can tell that they hold. Where it cannot tell, or they do not hold, the database is
asked as usual; and on saving the database itself checks all of them in any case. So it is with a unique constraint that holds under a
condition: a record that surely does not meet it cannot break the constraint.
"""

import datetime
import operator
from numbers import Number

from django.db import DEFAULT_DB_ALIAS, models
from django.db.models import F, Q
from django.db.models.expressions import CombinedExpression

__all__ = ["CheckConstraint", "UniqueConstraint", "surely_holds", "surely_outside"]

_COMPARE = {"exact": operator.eq, "gt": operator.gt, "gte": operator.ge, "lt": operator.lt, "lte": operator.le}


class CheckConstraint(models.CheckConstraint):
    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        if not surely_holds(self.condition, instance):
            super().validate(model, instance, exclude=exclude, using=using)

    def deconstruct(self):
        """In migrations it is Django's own: the database gets the same CHECK."""
        _path, arguments, keywords = super().deconstruct()
        return "django.db.models.CheckConstraint", arguments, keywords


class UniqueConstraint(models.UniqueConstraint):
    """One with a condition, such as "unless the reference is empty"."""

    def validate(self, model, instance, exclude=None, using=DEFAULT_DB_ALIAS):
        if not surely_outside(self.condition, instance):
            super().validate(model, instance, exclude=exclude, using=using)

    def deconstruct(self):
        _path, arguments, keywords = super().deconstruct()
        return "django.db.models.UniqueConstraint", arguments, keywords


class _CannotTell(Exception):
    pass


def surely_holds(condition, record):
    """Whether a record certainly passes a condition: it is true, or unknown because a column is empty, as in SQL."""
    try:
        return _truth(condition, record) is not False
    except _CannotTell:
        return False


def surely_outside(condition, record):
    """Whether a record certainly does not meet a condition. Where a column is empty, Django may have written the condition in two ways."""
    try:
        return _truth(condition, record) is False
    except _CannotTell:
        return False


def _truth(condition, record):
    """True, False, or None for unknown."""
    if not isinstance(condition, Q):
        raise _CannotTell
    # Django adds "is not null" below a negation: true where SQL alone says unknown. Both pass, but not below another negation.
    if condition.negated and any(isinstance(child, Q) and "NOT" in str(child) for child in condition.children):
        raise _CannotTell
    found = [_truth(child, record) if isinstance(child, Q) else _compared(*child, record) for child in condition.children]
    if condition.connector == Q.AND:
        truth = False if False in found else None if None in found else True
    elif condition.connector == Q.OR:
        truth = True if True in found else None if None in found else False
    else:
        raise _CannotTell
    return not truth if condition.negated and truth is not None else truth


def _compared(lookup, wanted, record):
    name, _, how = lookup.partition("__")
    value = _value(F(name), record)
    if how == "isnull" or wanted is None:
        return (value is None) == (True if wanted is None else wanted)
    if how not in {"", "in", *_COMPARE}:
        raise _CannotTell
    listed = [_value(one, record) for one in (wanted if how == "in" else (wanted,))]
    if value is None or None in listed:
        return None
    if not all(_alike(value, one) for one in listed):
        raise _CannotTell
    return value in listed if how == "in" else _COMPARE[how or "exact"](value, listed[0])


def _value(expression, record):
    if isinstance(expression, F):
        if "__" in expression.name:
            raise _CannotTell
        value = getattr(record, record._meta.get_field(expression.name).attname)
        if hasattr(value, "resolve_expression"):
            raise _CannotTell
        return value
    if isinstance(expression, CombinedExpression):
        left, right = _value(expression.lhs, record), _value(expression.rhs, record)
        if expression.connector != CombinedExpression.ADD or not isinstance(left, int) or not isinstance(right, int):
            raise _CannotTell
        return left + right
    if hasattr(expression, "resolve_expression"):
        raise _CannotTell
    return expression


def _alike(one, other):
    """Whether Python compares two values as a database does."""
    if isinstance(one, datetime.datetime) or isinstance(other, datetime.datetime):
        return isinstance(one, datetime.datetime) and isinstance(other, datetime.datetime)
    return any(isinstance(one, kind) and isinstance(other, kind) for kind in (str, Number, datetime.date))
