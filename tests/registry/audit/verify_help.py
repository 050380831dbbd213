"""What the tests of `verify` call, and how they change a record past the program."""

import io

from django.core.management import call_command
from django.db import connection

from registry.models.append_only import protect_statements, unprotect_statements
from registry.selectors.audit.verify import verify_book


def verify(*args):
    """(exit code, what was printed, what was complained)."""
    out, err = io.StringIO(), io.StringIO()
    code = 0
    try:
        call_command("verify", *args, stdout=out, stderr=err)
    except SystemExit as end:
        code = end.code
    return code, out.getvalue(), err.getvalue()


def faults():
    return [fault for check in verify_book() for fault in check.faults]


def in_the_database(table, sql, *values):
    """A change made in the database itself by somebody who takes the triggers away and puts them back."""
    with connection.cursor() as cursor:
        for statement in unprotect_statements(table, connection.vendor):
            cursor.execute(statement)
        cursor.execute(sql, values)
        for statement in protect_statements(table, connection.vendor):
            cursor.execute(statement)
