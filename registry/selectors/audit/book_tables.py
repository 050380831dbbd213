"""The tables of the folder that `export_book` writes and `import_book` reads: one declaration, made from the models.

A new record type is in it by itself, and so is a new column. What is left out is listed here, with the reason.
"""

import re
from functools import cache
from typing import NamedTuple

from django.apps import apps
from django.db.migrations.loader import MigrationLoader

__all__ = [
    "COLUMNS_LEFT_OUT",
    "DESCRIPTOR",
    "DOCUMENTS",
    "DOCUMENTS_FIELDS",
    "FORMAT",
    "LEFT_OUT",
    "MANIFEST",
    "OF_PROGRAM",
    "README",
    "BookTable",
    "book_tables",
    "table_name",
    "tables_edition",
]

FORMAT = 1
README, DESCRIPTOR, MANIFEST, DOCUMENTS = "README.txt", "datapackage.json", "manifest-sha256.txt", "documents"
DOCUMENTS_FIELDS = [
    {"name": "path", "type": "string", "title": "where it belongs in the data folder", "constraints": {"required": True, "unique": True}},
    {"name": "sha256", "type": "string", "title": "SHA-256 of its content"},
    {"name": "document", "type": "string", "title": "the file in this folder; blank where it was gone or changed"},
    {"name": "record", "type": "string", "title": "the name it came with"},
]
OF_PROGRAM = ("registry", "plantings")  # apps whose record types are in the folder
LEFT_OUT = {
    "auth.Group": "rights go by the role of a person",
    "auth.Group_permissions": "rights go by the role of a person",
    "auth.Permission": "rights go by the role of a person",
    "axes.AccessAttempt": "wrong passwords of the last hours",
    "axes.AccessAttemptExpiration": "wrong passwords of the last hours",
    "axes.AccessFailureLog": "wrong passwords; says nothing about the records",
    "axes.AccessLog": "times of signing in; says nothing about the records",
    "contenttypes.ContentType": "made by the program itself",
    "django_tasks_database.DBTaskResult": "the queue of long work",
    "registry.Job": "long work and its files, which are stored for two weeks and are in no backup either",
    "registry.PasswordAsked": "internet addresses of those who asked for a new password, deleted after 90 days",
    "registry.StoredAnswer": "what jobs worked out from the records, which is worked out again",
    "registry.Person_groups": "rights go by the role of a person",
    "registry.Person_user_permissions": "rights go by the role of a person",
    "sessions.Session": "whoever has it could go on as a person who was signed in",
}
COLUMNS_LEFT_OUT = {"registry.Person.password": "nobody should try to guess passwords from the folder; everyone sets a new one"}
_WORDS = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")


class BookTable(NamedTuple):
    """A record type as a file: its name, its model and its columns, named as in the database and in the hashes of the audit trail."""

    name: str
    model: type
    fields: tuple

    @property
    def path(self):
        return f"tables/{self.name}.csv"

    @property
    def columns(self):
        return tuple(field.attname for field in self.fields)

    def rows(self):
        """All rows in the order of their numbers, as a stream of tuples."""
        return self.model._base_manager.order_by("pk").values_list(*self.columns).iterator(chunk_size=2_000)


@cache
def book_tables() -> tuple[BookTable, ...]:
    """Every table in load order: a table comes after those its rows point to, as far as they do not point in a circle."""
    wanted = [
        model for model in apps.get_models(include_auto_created=True)
        if model._meta.app_label in OF_PROGRAM and model._meta.label not in LEFT_OUT
    ]  # fmt: skip
    order, seen = [], set()

    def visit(model):
        if model in seen or model not in wanted:
            return
        seen.add(model)
        for field in model._meta.concrete_fields:
            if field.related_model:
                visit(field.related_model)
        order.append(model)

    for model in wanted:
        visit(model)
    return tuple(BookTable(table_name(model), model, _fields(model)) for model in order)


def tables_edition() -> dict[str, str]:
    """{app: its last migration}: which tables and columns this version of the program has."""
    leaves = dict(MigrationLoader(None).graph.leaf_nodes())
    return {app: leaves[app] for app in OF_PROGRAM}


def table_name(model) -> str:
    """The name of a record type in the folder, such as pedigree_tree."""
    return "_".join(_WORDS.split(model.__name__)).lower()


def _fields(model):
    return tuple(field for field in model._meta.concrete_fields if f"{model._meta.label}.{field.name}" not in COLUMNS_LEFT_OUT)
