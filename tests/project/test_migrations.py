"""Migrations: complete, the newest able to go back, and leaving the append-only tables protected. Runs on either database."""

from datetime import date, datetime, time

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from registry.models import AuditEntry, IdentityQuestion, IssuedPrint, Person, Requirement, RuleVerification
from registry.selectors.audit.record_hashes import append_only_models
from registry.selectors.audit.verify import verify_book
from registry.services.audit.backup_database import tables_migrate
from registry.services.audit.trail import audit_record
from registry.services.audit.write import writing
from tests import factories
from tests.schema import described, drop_all_tables, earlier_models, forget_squashed, migrate_singly


def triggers():
    """{(table, what the trigger refuses)} as the database itself lists them."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT event_object_table, lower(event_manipulation) FROM information_schema.triggers "
                "WHERE trigger_name LIKE '%_append_only'"
            )
            by_row = set(cursor.fetchall())
            # information_schema does not list TRUNCATE
            cursor.execute(
                "SELECT c.relname, 'truncate' FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid WHERE t.tgname LIKE '%_no_truncate'"
            )
            return by_row | set(cursor.fetchall())
        cursor.execute("SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'")
        return {(table, name.rpartition("_no_")[2]) for table, name in cursor.fetchall()}


VERBS = ("update", "delete", "truncate") if connection.vendor == "postgresql" else ("update", "delete", "replace")
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


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no TRUNCATE")
@pytest.mark.parametrize("table", sorted({table for table, _verb in EXPECTED}))
def test_no_append_only_table_can_be_truncated(table):
    with connection.cursor() as cursor, pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        cursor.execute(f"TRUNCATE {table} CASCADE")


EARLIER = ("registry", "0018_taking_back")


def an_old_print():
    """A row of a table that a later migration renames, on the tables of `0010`."""
    prints = earlier_models("registry", "0010_handbook_fruit_and_bath").get_model("registry", "IssuedPaper").objects
    return prints.create(kind="labels", title="Labels", filename="a.pdf", sha256="0" * 64, size_bytes=1, entered_at=timezone.now())


def old_verifications():
    """A rule verified at three times, which only the audit trail tells, and one never verified, on the tables of `EARLIER`. The lead."""
    earlier = earlier_models(*EARLIER)
    lead = Person(pk=earlier.get_model("registry", "Person").objects.create(username="lead", role="lead").pk, username="lead", role="lead")
    rules = earlier.get_model("registry", "Requirement").objects
    rule = rules.create(
        code="R", edition="1", title="Rule", source="invented", verified_on="2025-05-01", verified_with="Office, B", verified_by="A",
        review_by="2026-05-01",
    )  # fmt: skip
    rules.create(code="N", edition="1", title="Never verified", source="invented")
    changes = [
        {"verified_on": [None, "2023-05-01"], "verified_with": ["", "Office"], "verified_by": ["", "A"]},
        {"verified_on": ["2023-05-01", "2025-05-01"], "verified_with": ["Office", "Office, C"], "review_by": [None, "2026-05-01"]},
        {"verified_with": ["Office, C", "Office, B"]},
    ]
    with writing():
        for change in changes:
            audit_record(actor=lead, verb="requirement.verified", obj=Requirement.objects.get(pk=rule.pk), changes=change)
    return lead


def old_settlements(lead):
    """Two questions settled on one day, of which the audit trail has one, on the tables of `EARLIER`. {key: the time it is to get}."""
    earlier = earlier_models(*EARLIER)
    taxa, trees, questions = (earlier.get_model("registry", name).objects for name in ("Taxon", "PedigreeTree", "IdentityQuestion"))
    tree, day = trees.create(code="KW-1", generation_other="native", taxon=taxa.create(name="Juglans cinerea")), date(2025, 5, 1)
    whole = {"tree": tree, "raised_on": day, "settled_on": day, "settlement": "confirmed", "entered_at": timezone.now()}
    known, unknown = (questions.create(reason=reason, settlement_text="it holds", **whole) for reason in ("tag", "twig"))
    with writing():
        audit_record(actor=lead, verb="identityquestion.settled", obj=IdentityQuestion(pk=known.pk, tree_id=tree.pk), reason="it holds")
    at = AuditEntry.objects.get(verb="identityquestion.settled").at
    return {known.pk: at, unknown.pk: timezone.make_aware(datetime.combine(day, time.max))}


def without_triggers(tables):
    """Our tables, those of Django left out. Going back drops triggers that the earlier version had; each migration makes its own again."""
    return {table: found for table, (found, _triggers) in tables.items() if table.startswith(("registry_", "plantings_"))}


@pytest.mark.django_db(transaction=True)
def test_every_way_of_migrating_carries_old_records_along():
    """Back from the newest; from nothing at once; and one by one with stops at two earlier versions.

    All other tests run on tables made from the models. One test, since each way is long and they end and begin at the same versions.
    """
    ours = {model._meta.db_table for app in ("registry", "plantings") for model in apps.get_app_config(app).get_models()}
    of_the_models = described()
    try:
        migrate_singly(EARLIER)
        gone_back = described()
        at_the_earlier = [f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations()]
        drop_all_tables()
        assert connection.introspection.table_names() == []
        call_command("migrate", verbosity=0)
        of_the_squashed = described()
        drop_all_tables()
        names = sorted(name for app, name in MigrationLoader(None).disk_migrations if app == "registry" and "_to_" not in name)
        tables_migrate([f"registry.{name}" for name in names if name <= "0010_handbook_fruit_and_bath"])  # as for a backup of that version
        row = an_old_print()
        assert ("registry_issuedpaper", "update") in triggers()
        tables_migrate(at_the_earlier)
        forget_squashed()
        come_forward = described()
        lead = old_verifications()
        settled = old_settlements(lead)
    finally:
        call_command("migrate", verbosity=0)
    assert without_triggers(gone_back) == without_triggers(come_forward) != without_triggers(of_the_models)
    of_the_migrations = described()
    assert of_the_migrations.keys() == of_the_squashed.keys() == of_the_models.keys() >= ours
    for table in ours:  # those of Django and django-axes are theirs to prove
        assert of_the_migrations[table] == of_the_squashed[table] == of_the_models[table], table
    assert triggers() == EXPECTED
    assert IssuedPrint.objects.get().pk == row.pk
    found = RuleVerification.objects.values_list("verified_on", "verified_with", "verified_by", "review_by", "entered_by")
    assert list(found) == [
        (date(2023, 5, 1), "Office", "A", None, lead.pk),
        (date(2025, 5, 1), "Office, B", "A", date(2026, 5, 1), lead.pk),
    ]
    assert dict(IdentityQuestion.objects.values_list("pk", "settled_at")) == settled
    # what was stored above past the services, and nothing else
    faults = [fault.partition(":")[0] for check in verify_book() for fault in check.faults]
    assert faults == [f"issuedpaper {row.pk}", "person lead"]
    assert factories.seed_lot(seeds=10).ledger.count() == 1
