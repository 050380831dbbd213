"""Every write of the tests has an audit entry that ends the figures its rows are in.

`trail_concerns` says by record type what a change of a row concerns, and what an entry does. While the tests run, the statements of each
write are read: what concerns its tables must be in what its entries concern. Otherwise a page would go on showing an old figure.
"""

import re
from contextlib import contextmanager
from functools import cache
from unittest.mock import patch

from django.apps import apps
from django.db import connection

from registry.models import AuditHead
from registry.models.audit import stored_name
from registry.selectors.shared.trail_concerns import Concern, concern_of
from registry.services.audit import write as door
from registry.services.audit.trail import OPEN_WRITE, OpenWrite

WRITTEN = re.compile(r'\s*(?:INSERT (?:OR \w+ )?INTO|UPDATE|DELETE FROM) "(\w+)"(?: SET (.+?)(?: WHERE |$))?', re.DOTALL)
READ = re.compile(r'(?:FROM|JOIN) "(\w+)"(?: (?!INNER|LEFT|WHERE|ON|ORDER|GROUP|LIMIT|USING)(\w+))?')
COLUMN_READ = re.compile(r'"?(\w+)"?\."(\w+)"')
COLUMN = re.compile(r'(?:^|, )"(\w+)" = ')
# columns that no figure rests on; a change of these alone concerns nothing
NO_FIGURE_RESTS_ON = {
    "registry_lot": {"balance", "closed_on"},
    "registry_person": {"last_login", "password"},
}
# tables beside a record type, of the records that two types share
ALSO = {"plantings_planting_crew": "planting"}
ENOUGH = {
    Concern.ANSWERS: set(Concern) - {Concern.NOTHING},
    Concern.PARTS: {Concern.PARTS, Concern.EVERYTHING},
    Concern.LOTS: {Concern.LOTS, Concern.EVERYTHING},
    Concern.EVERYTHING: {Concern.EVERYTHING},
}


@cache
def record_types():
    """{table: its record type} of both apps."""
    models = [model for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models()]
    written = {model._meta.db_table: stored_name(model) for model in models if model is not AuditHead}  # each write moves the head on
    return written | ALSO


def columns_read(sql):
    """{(table, column)} that a SELECT reads, and (table, "") of each table."""
    tables = {alias or table: table for table, alias in READ.findall(sql)}
    read = {(tables[name], column) for name, column in COLUMN_READ.findall(sql) if name in tables}
    return read | {(table, "") for table in tables.values()}


class NotEnough(AssertionError):
    """A write changed rows of figures, and none of its audit entries ends those."""


class Statements:
    """The tables that each open write has changed."""

    def __init__(self):
        self.of = {}  # {id of a write: (the write, so that no other gets its id, tables)}

    def read(self):
        """Read the statements of the connection that the tests have now: it is another one once a browser runs its event loop in this thread."""
        if self.note not in connection.execute_wrappers:
            connection.execute_wrappers.append(self.note)

    def tables(self, write):
        return self.of.setdefault(id(write), (write, set()))[1]

    def note(self, execute, sql, params, many, context):
        now, found = OPEN_WRITE.get(), WRITTEN.match(sql)
        if now is not None and found:
            table, columns = found[1], set(COLUMN.findall(found[2] or ""))
            if not (columns and columns <= NO_FIGURE_RESTS_ON.get(table, set())):
                self.tables(now).add(table)
        return execute(sql, params, many, context)

    def check(self, write):
        if not write.entries:  # a save that changes nothing
            self.tables(write).clear()
            return
        concerns = {concern_of(entry["verb"], entry["record_type"]) for entry in write.entries}
        for table in sorted(self.tables(write) & record_types().keys()):
            concern = concern_of("", record_types()[table])
            if concern != Concern.NOTHING and not ENOUGH[concern] & concerns:
                verbs = sorted({entry["verb"] for entry in write.entries})
                raise NotEnough(f"{table} was written, and {verbs} end less than that. Declare one of them in trail_concerns.")
        self.tables(write).clear()


@contextmanager
def every_write_checked():
    """While this is open each write is checked as it ends. Yields what sees to it that the statements of the connection are read."""
    statements, take_over, append = Statements(), OpenWrite.take_over, door.trail_append

    def taken_over(outer, inner):
        statements.tables(outer).update(statements.tables(inner))
        take_over(outer, inner)

    def appended(write):
        append(write)
        statements.check(write)

    with patch.object(OpenWrite, "take_over", taken_over), patch.object(door, "trail_append", appended):
        yield statements.read
