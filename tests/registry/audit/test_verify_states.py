"""`verify` sees what was put in, made or swapped in the database itself, and accuses nobody of what the program did."""

import importlib

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from plantings.models import Observation, PlotCount, Tree
from plantings.services.tree_lists.moves import tree_move
from plantings.services.tree_lists.retags import tree_retag
from plantings.services.trees import TreeAsPlanted, tree_replace, trees_plant
from registry.models import AccessToken, AuditEntry, LedgerEntry, Lot, Person
from registry.selectors.audit.record_states import STATED
from registry.selectors.audit.verify import verify_book
from registry.services.audit.taking_over import take_over
from registry.services.audit.write import writing
from registry.services.people.people import person_save
from registry.services.shared.records import record_save
from tests import factories
from tests.registry.audit.verify_help import in_the_database

pytestmark = pytest.mark.django_db
SQLITE = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="PostgreSQL has no INSERT OR REPLACE")
OUTSIDE = "It was changed outside the program"


def faults():
    return [fault for check in verify_book() for fault in check.faults]


def execute(sql, *values):
    with connection.cursor() as cursor:
        cursor.execute(sql, values)


@pytest.fixture
def lead():
    return factories.person("lead", username="anna")


@pytest.fixture
def planting(lead):
    planting = factories.planting(code="PL-A")
    planting.note = planting.site.access_notes = "stored by the program"
    record_save(actor=lead, obj=planting)
    record_save(actor=lead, obj=planting.site)
    for tag in ("S", "T"):
        factories.trees(planting, factories.stock_lot(actor=lead, plants=20), 5, actor=lead, tag=tag, row=1 + (tag == "T"))
    return planting


# -- rows put in ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pk", [-5, 0])
def test_a_row_put_in_with_a_low_or_negative_number_is_named(lead, pk):
    lot = factories.seed_lot(actor=lead, seeds=10)
    line = lot.ledger.get()
    values = {name: getattr(line, name) for name in ("kind", "on", "entered_by", "entered_at")}
    factories.put_in(LedgerEntry(pk=pk, lot=lot, quantity=7, **values))
    assert f"ledgerentry {pk}: the audit trail has no hash of it. It was added outside the program." in faults()


def test_rows_of_older_versions_are_taken_over_once_and_then_held(lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    line = lot.ledger.get()
    values = {name: getattr(line, name) for name in ("kind", "on", "entered_by", "entered_at")}
    [old] = factories.put_in(LedgerEntry(lot=lot, quantity=7, **values))
    take_over(apps, app="registry", append_only=["ledgerentry", "rating"])
    [check] = [check for check in verify_book() if check.title == "Append-only records"]
    assert check.faults == [] and check.looked_at.endswith("1 of them of older versions of the program")
    in_the_database("registry_ledgerentry", "UPDATE registry_ledgerentry SET reason = 'x' WHERE id = %s", old.pk)
    assert faults() == ["rows of ledgerentry: of the 1 of older versions of the program at least one was changed"]
    in_the_database("registry_ledgerentry", "UPDATE registry_ledgerentry SET reason = '' WHERE id = %s", old.pk)
    [new] = factories.put_in(LedgerEntry(pk=-1, lot=lot, quantity=7, **values))
    [fault] = faults()
    assert fault.startswith("rows of ledgerentry: 2 have no hash in the audit trail, and 1 had none when the program was upgraded; ")
    assert f"ledgerentry {new.pk}" in fault


def test_nothing_is_taken_over_where_there_is_nobody():
    take_over(apps, app="registry", append_only=["ledgerentry"])
    assert not AuditEntry.objects.exists()


TABLES_MADE_LATER = {AccessToken}  # no row of theirs was there to be taken over


def test_migrations_take_over_what_verify_looks_at():
    """Their lists are frozen, so a column named later is stated by the next write or by a migration of its own."""
    migrations = {
        "registry": ("0013_append_only_replace", "0029_states_of_links_and_shipments"),
        "plantings": ("0006_append_only_replace", "0026_states_of_rounds_and_plots", "0027_tree_points", "0029_trees_left_out"),
    }
    for app, names in migrations.items():
        taken = [line for name in names for line in importlib.import_module(f"{app}.migrations.{name}").STATED]
        frozen = {apps.get_model(app, model): (tuple(columns), group) for model, columns, group in taken}
        stated = {model: (stated.names, stated.group) for model, stated in STATED.items() if model._meta.app_label == app}
        assert frozen == {model: said for model, said in stated.items() if model not in TABLES_MADE_LATER}


def test_states_taken_over_are_those_that_verify_reads(lead, planting):
    taken = AuditEntry.objects.count()
    for app in ("registry", "plantings"):
        stated = [(model._meta.model_name, item.names, item.group) for model, item in STATED.items() if model._meta.app_label == app]
        take_over(apps, app=app, stated=stated)
    assert (AuditEntry.objects.count(), faults()) == (taken + 2, [])


# -- who may do what -----------------------------------------------------------------------------------------------------------


def test_a_person_made_lead_in_the_database_is_named(lead):
    volunteer = factories.person("volunteer", username="bo")
    execute("UPDATE registry_person SET role = 'lead' WHERE id = %s", volunteer.pk)
    assert faults() == [f"person bo: role is lead, in the audit trail volunteer. {OUTSIDE}"]
    volunteer.refresh_from_db()
    volunteer.role = "coordinator"
    person_save(actor=lead, person=volunteer)
    assert faults() == []


def test_an_account_put_in_is_named(lead):
    Person.objects.create_user(username="eve", password="x", role="lead")
    assert faults() == ["person eve: the audit trail does not know it. It was added outside the program"]


def test_an_account_that_was_removed_is_named(lead):
    gone = factories.person("volunteer")
    pk = gone.pk
    in_the_database("registry_auditentry", "UPDATE registry_auditentry SET actor_id = %s WHERE actor_id = %s", lead.pk, pk)
    execute("DELETE FROM registry_person WHERE id = %s", pk)
    assert f"person {pk}: it was removed" in faults()


# -- pedigree, plantings, trees ------------------------------------------------------------------------------------------------


def test_another_mother_in_the_database_is_named(lead):
    first, second = (record_save(actor=lead, obj=factories.pedigree_tree(code=code)) for code in ("M-1", "M-2"))
    child = factories.pedigree_tree(code="C-1", mother=first)
    child.note = "stored by the program"
    record_save(actor=lead, obj=child)
    lot = factories.seed_lot(actor=lead, code="L-1", mother=first, seeds=5)
    record_save(actor=lead, obj=lot, reason="again")
    assert faults() == []
    execute("UPDATE registry_pedigreetree SET mother_id = %s WHERE id = %s", second.pk, child.pk)
    execute("UPDATE registry_lot SET mother_id = %s WHERE id = %s", second.pk, lot.pk)
    found = [fault for fault in faults() if OUTSIDE in fault]
    assert found == [
        f"pedigree tree C-1: mother is M-2, in the audit trail M-1. {OUTSIDE}",
        f"lot L-1: mother is M-2, in the audit trail M-1. {OUTSIDE}",
    ]


def test_another_planting_date_in_the_database_is_named(planting):
    planting.refresh_from_db()
    was = planting.planted_on.isoformat()
    execute("UPDATE plantings_planting SET planted_on = '2001-02-03' WHERE id = %s", planting.pk)
    assert faults() == [f"planting PL-A: planted on is 2001-02-03, in the audit trail {was}. {OUTSIDE}"]


def test_a_site_moved_in_the_database_is_named(planting):
    execute("UPDATE plantings_site SET jurisdiction = 'US-VT' WHERE id = %s", planting.site_id)
    [fault] = faults()
    assert fault.startswith("site ") and "jurisdiction is US-VT, in the audit trail " in fault


TREES = "trees of planting PL-A: at least one has another lot, tag, place or planting date than in the audit trail"


def test_two_trees_that_swapped_lots_are_named_by_planting(planting):
    one, other = planting.trees.order_by("pk").first(), planting.trees.order_by("pk").last()
    for tree, entry in ((one, other.entry_id), (other, one.entry_id)):
        execute("UPDATE plantings_tree SET entry_id = %s WHERE id = %s", entry, tree.pk)
    assert one.entry_id != other.entry_id and f"{TREES}. {OUTSIDE}" in faults()


def test_two_entries_that_swapped_lots_are_named_by_planting(planting):
    one, other = planting.entries.order_by("pk")
    lots = one.lot_id, other.lot_id
    spare = factories.stock_lot(plants=5)
    for entry, lot in ((one, spare.pk), (other, lots[0]), (one, lots[1])):
        execute("UPDATE plantings_plantingentry SET lot_id = %s WHERE id = %s", lot, entry.pk)
    assert f"{TREES}. {OUTSIDE}" in faults()


def test_a_tree_put_in_is_named_by_planting(planting):
    tree = planting.trees.first()
    Tree.objects.create(planting=planting, entry=tree.entry, tag="X-1")
    assert f"trees of planting PL-A: 10 are in the audit trail, 11 are there. {OUTSIDE}" in faults()


def test_what_the_services_do_to_trees_is_in_the_trail(lead, planting):
    tree, other = planting.trees.order_by("pk")[:2]
    tree_retag(actor=lead, tree=tree, tag="NEW", on=factories.day(2024), reason="tag lost")
    assert faults() == []
    tree_move(actor=lead, tree=other, reason="measured again", position=99, planted_on=planting.planted_on)
    assert faults() == []
    tree_replace(actor=lead, tree=tree, tag="R-1", planted_on=factories.day(2024))
    assert faults() == []
    lot = factories.stock_lot(actor=lead, plants=3)
    trees_plant(actor=lead, planting=planting, trees=[TreeAsPlanted(tag="Z", lot=lot, row=9, position=1)])
    assert faults() == []


def test_a_refused_part_and_a_trial_leave_no_state(lead):
    person = factories.person("volunteer")
    with writing() as trial:
        person.role = "manager"
        person_save(actor=lead, person=person)
        trial.is_trial = True
    assert faults() == []


def test_verify_says_how_many_records_the_trail_does_not_know(lead):
    factories.pedigree_tree(code="RAW")
    [check] = [check for check in verify_book() if check.title.startswith("Accounts")]
    assert (check.looked_at, check.faults) == ("2 records, 1 of them not in the audit trail: pedigree tree RAW", [])


def test_verify_says_which_forged_records_it_does_not_call_wrong(lead, capsys):
    """A plain record with the next number, put in past the program: counted until somebody saves it, and the command says so."""
    forged = factories.pedigree_tree(code="FORGED")  # stored past every service
    call_command("verify")
    said = capsys.readouterr().out
    assert "WRONG" not in said and "1 of them not in the audit trail: pedigree tree FORGED" in said
    assert "Not counted as wrong: a lot, pedigree tree, shipment, site, planting or round put into the database past the program" in said
    forged.orchard = "North"
    record_save(actor=lead, obj=forged)
    call_command("verify")
    said = capsys.readouterr().out
    assert "WRONG" not in said and "FORGED" not in said and "no longer does once somebody saves it on screen" in said


# -- INSERT OR REPLACE ---------------------------------------------------------------------------------------------------------


@SQLITE
def test_sqlite_refuses_to_replace_an_append_only_row(lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    copy = "INSERT OR REPLACE INTO registry_ledgerentry SELECT * FROM registry_ledgerentry"
    with pytest.raises(IntegrityError, match="registry_ledgerentry is append-only, and it has this row already"), transaction.atomic():
        execute(copy)
    assert (lot.ledger.count(), faults()) == (1, [])


@SQLITE
@pytest.mark.parametrize("pk", ["9000", "NULL"])
def test_sqlite_refuses_to_replace_a_row_by_another_unique_column(lead, pk):
    planting = factories.planting()
    trees, census_round = factories.trees(planting, count=2, actor=lead), factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(trees, "A"))
    names = [field.column for field in Observation._meta.concrete_fields if field.column != "id"]
    columns = ", ".join(f'"{name}"' for name in names)
    with pytest.raises(IntegrityError, match="plantings_observation is append-only"), transaction.atomic():
        execute(f"INSERT OR REPLACE INTO plantings_observation (id, {columns}) SELECT {pk}, {columns} FROM plantings_observation LIMIT 1")
    assert (Observation.objects.count(), PlotCount.objects.count(), faults()) == (2, 0, [])


@SQLITE
def test_a_replaced_audit_entry_is_refused_too(lead):
    assert Lot.objects.count() == 0 and AuditEntry.objects.count() == 1
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        execute("REPLACE INTO registry_auditentry SELECT * FROM registry_auditentry")
