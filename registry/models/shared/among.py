"""`field__among=Keys(...)`: records by thousands of keys, in one statement with one parameter.

Django's own `__in` prepares every key by itself, which takes longer than the database needs to find the records, and SQLite takes
some thousand parameters at most.
"""

import json
from uuid import UUID

from django.db.models import Field, ForeignObject, Lookup

__all__ = ["Keys"]


class Keys:
    """Whole numbers, texts or UUIDs that a column may hold."""

    __slots__ = ("values",)

    def __init__(self, values):
        self.values = list(values)


@ForeignObject.register_lookup
@Field.register_lookup
class Among(Lookup):
    lookup_name = "among"
    prepare_rhs = False

    def as_sql(self, compiler, connection):
        column, given = self.process_lhs(compiler, connection)
        if connection.vendor == "postgresql":
            return f"{column} = ANY(%s)", [*given, self.rhs.values]
        return f"{column} IN (SELECT value FROM json_each(%s))", [*given, json.dumps(self.rhs.values, default=_stored_uuid)]


def _stored_uuid(value):
    """A UUID as SQLite holds it."""
    if not isinstance(value, UUID):
        raise TypeError(f"{value!r} is not a key")
    return value.hex
