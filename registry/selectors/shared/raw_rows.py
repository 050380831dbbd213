"""Rows of numbers and texts straight from the driver, for reads of thousands of rows in one answer."""

from django.core.exceptions import EmptyResultSet
from django.db import connection

__all__ = ["raw_rows"]


def raw_rows(values):
    """The rows of a `values_list` of plain numbers and texts as the driver gives them: nothing has to be converted."""
    try:
        sql, parameters = values.query.sql_with_params()
    except EmptyResultSet:  # nothing is in this person's scope
        return []
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return cursor.fetchall()
