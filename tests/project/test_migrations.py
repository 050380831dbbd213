"""Migrations: complete, able to go back and forth, and leaving the append-only tables protected. Runs on either database."""

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from registry.models import AuditEntry, IssuedPrint
from registry.selectors.audit.record_hashes import append_only_models
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from tests import factories
from tests.schema import described


def triggers():
    """{(table, what the trigger refuses)} as the database itself lists them."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT event_object_table, lower(event_manipulation) FROM information_schema.triggers "
                "WHERE trigger_name LIKE '%_append_only'"
            )
            return set(cursor.fetchall())
        cursor.execute("SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'")
        return {(table, name.rpartition("_no_")[2]) for table, name in cursor.fetchall()}


VERBS = ("update", "delete") if connection.vendor == "postgresql" else ("update", "delete", "replace")
EXPECTED = {(model._meta.db_table, verb) for model in append_only_models() for verb in VERBS}


@pytest.mark.django_db
def test_every_model_change_has_its_migration():
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)  # exits with an error when one is missing


@pytest.mark.django_db
def test_no_migration_is_left_to_run():
    executor = MigrationExecutor(connection)
    assert executor.migration_plan(executor.loader.graph.leaf_nodes()) == []
    ours = {app for app, _name in executor.loader.applied_migrations}
    assert {"registry", "plantings"} <= ours


@pytest.mark.django_db
def test_the_append_only_tables_are_protected_after_migrating():
    assert triggers() == EXPECTED


@pytest.mark.django_db
def test_the_audit_trail_cannot_be_changed_in_the_database_itself():
    person = factories.person()
    with writing():
        audit_record(actor=person, verb="person.added", obj=person)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        AuditEntry.objects.update(reason="changed")


@pytest.mark.django_db(transaction=True)
def test_all_tables_can_be_taken_away_and_made_again_from_zero():
    tables = {model._meta.db_table for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models()}
    of_the_models = described()
    try:
        call_command("migrate", "registry", "zero", verbosity=0)  # and plantings, which depends on it
        assert tables & set(connection.introspection.table_names()) == set()
    finally:
        call_command("migrate", verbosity=0)
    of_the_migrations = described()
    assert tables <= set(of_the_migrations)
    for table, made in of_the_models.items():  # so every other test runs on the tables of a site
        assert of_the_migrations[table] == made, table
    assert triggers() == EXPECTED
    assert factories.seed_lot(seeds=10).ledger.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_print_recorded_before_the_rename_keeps_its_row():
    try:
        call_command("migrate", "registry", "0010", verbosity=0)
        earlier = MigrationExecutor(connection).loader.project_state([("registry", "0010_handbook_fruit_and_bath")]).apps
        row = earlier.get_model("registry", "IssuedPaper").objects.create(
            kind="labels", title="Labels", filename="a.pdf", sha256="0" * 64, size_bytes=1, entered_at=timezone.now()
        )
        assert ("registry_issuedpaper", "update") in triggers()
    finally:
        call_command("migrate", verbosity=0)
    assert IssuedPrint.objects.get().pk == row.pk
    assert triggers() == EXPECTED
