"""Comparing texts without regard to case, also very long ones."""

from django.core.exceptions import EmptyResultSet
from django.db.models import CharField, TextField, lookups

_SQLITE_MOST = 50_000  # octets of a LIKE pattern: SQLITE_MAX_LIKE_PATTERN_LENGTH, sqlite.org/limits.html


__all__ = ["compare_texts_of_any_length"]


class SameText(lookups.IExact):
    """`iexact`. SQLite compares by a pattern and raises for one that is too long, wherever somebody typed it: such a text equals none."""

    def as_sqlite(self, compiler, connection):
        _sql, params = self.process_rhs(compiler, connection)
        if any(isinstance(text, str) and len(text.encode(errors="surrogatepass")) > _SQLITE_MOST for text in params):
            raise EmptyResultSet
        return self.as_sql(compiler, connection)


def compare_texts_of_any_length():
    """Called once, at the start."""
    for field in (CharField, TextField):
        field.register_lookup(SameText)
