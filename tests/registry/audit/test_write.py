"""The door of every write: rows, their hashes in the audit trail and the marks of open questions are stored together or not at all."""

import ast
import contextlib
import datetime
import re
import subprocess
import sys

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction

from plantings.models import Observation
from registry.models import AuditEntry, LedgerEntry, Lot, Rating
from registry.models.append_only import NotAppended
from registry.selectors.audit.record_hashes import HASHES, append_only_models
from registry.selectors.audit.verify import verify_book
from registry.services.audit import write as door
from registry.services.audit.trail import OutsideWrite, append_in_bulk, append_row, append_rows, audit_record
from registry.services.audit.write import writing
from registry.services.lots.ledger import ledger_enter, lot_split
from registry.services.lots.storage import storage_enter
from tests import factories
from tests.places import PROJECT

DAY = datetime.date(2019, 10, 8)


def faults():
    return [fault for check in verify_book() for fault in check.faults]


def harvested(actor, lot, quantity=5):
    return ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=quantity, on=factories.day(lot.year))


@pytest.fixture
def lead(db):
    return factories.person("lead")


# -- together or not at all --------------------------------------------------------------------------------------------------


def test_an_error_between_row_and_hash_leaves_neither(lead, monkeypatch):
    lot = factories.seed_lot(actor=lead, seeds=10)
    entries = AuditEntry.objects.count()

    def fail(_write):
        assert LedgerEntry.objects.count() == 2  # the row is stored by now
        raise RuntimeError("the disk is full")

    with monkeypatch.context() as patched, pytest.raises(RuntimeError, match="the disk is full"):
        patched.setattr(door, "trail_append", fail)
        harvested(lead, lot)
    assert (LedgerEntry.objects.count(), AuditEntry.objects.count(), faults()) == (1, entries, [])
    harvested(lead, lot)
    assert (LedgerEntry.objects.count(), faults()) == (2, [])


# A program of its own, that ends without a word between the row and its audit entry, as when the power goes.
CHILD = """
import datetime, os, sys
os.environ["DJANGO_SETTINGS_MODULE"] = "registry.settings"
import django
django.setup()
from django.db import connection
connection.settings_dict["NAME"] = sys.argv[1]
from registry.models import LedgerEntry, Lot, Person
from registry.services.audit import write as door
from registry.services.lots.ledger import ledger_enter

def end(write):
    assert LedgerEntry.objects.count() == 2
    os._exit(9)

if sys.argv[4] == "ends":
    door.trail_append = end
lot, actor = Lot.objects.get(pk=sys.argv[2]), Person.objects.get(pk=sys.argv[3])
ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=5, on=datetime.date(lot.year, 10, 8))
"""


@pytest.mark.django_db(transaction=True)
def test_a_process_killed_between_row_and_hash_leaves_neither():
    lead = factories.person("lead")
    lot = factories.seed_lot(actor=lead, seeds=10)
    arguments = [sys.executable, "-c", CHILD, str(connection.settings_dict["NAME"]), str(lot.pk), str(lead.pk)]

    def run(how):
        return subprocess.run([*arguments, how], cwd=PROJECT, capture_output=True, text=True, timeout=120)

    ended = run("ends")
    assert (ended.returncode, ended.stderr) == (9, "")
    assert (LedgerEntry.objects.count(), Lot.objects.get().balance, faults()) == (1, 10, [])
    whole = run("goes on")
    assert (whole.returncode, whole.stderr) == (0, "")
    assert (LedgerEntry.objects.count(), Lot.objects.get().balance, faults()) == (2, 15, [])


def test_a_refused_part_of_a_write_leaves_no_entry_and_no_hash(lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    with writing():
        with pytest.raises(ValidationError), writing():
            storage_enter(actor=lead, lot=lot, on=DAY, place="shelf 1", by="A")
            ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=99, on=DAY)
        storage_enter(actor=lead, lot=lot, on=DAY, place="shelf 2", by="A")
    assert AuditEntry.objects.filter(verb="storagerecord.added").count() == 1
    assert (lot.storage_log.get().place, faults()) == ("shelf 2", [])


def test_a_trial_leaves_nothing(lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    before = AuditEntry.objects.count()
    with writing() as trial:
        harvested(lead, lot)
        trial.is_trial = True
    assert (AuditEntry.objects.count(), LedgerEntry.objects.count(), faults()) == (before, 1, [])


@pytest.mark.parametrize("inside", [False, True])
def test_an_error_passed_over_is_not_reported_as_success(lead, inside):
    lot = factories.seed_lot(actor=lead, seeds=10)
    before = AuditEntry.objects.count()
    with pytest.raises(transaction.TransactionManagementError, match="was passed over"), contextlib.ExitStack() as stack:
        if inside:
            stack.enter_context(writing())
        with writing():
            audit_record(actor=lead, verb="lot.changed", obj=lot)
            with pytest.raises(IntegrityError):
                Lot(code=lot.code, kind="seed", origin="harvest", mother=lot.mother, taxon=lot.taxon, year=2018).save()
    assert (AuditEntry.objects.count(), faults()) == (before, [])


def test_each_entry_has_the_hashes_of_the_rows_before_it(lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    part = Lot(code="PART")
    with writing():
        record = storage_enter(actor=lead, lot=lot, on=DAY, place="shelf 1", discarded=1, by="A")
        lot_split(actor=lead, lot=lot, part=part, count=2, on=DAY)
    rows = {entry.verb: set(entry.changes.get(HASHES, [None, {}])[1]) for entry in AuditEntry.objects.order_by("-pk")[:4]}
    moved = {f"ledgerentry {entry.pk}" for entry in LedgerEntry.objects.filter(kind__startswith="split")}
    assert rows["storagerecord.added"] == {f"storagerecord {record.pk}", f"ledgerentry {record.entry_id}"}
    assert (rows["lot.split"], faults()) == (moved | {f"state of lot {lot.pk}"}, [])


# -- nothing passes it -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("model", append_only_models(), ids=lambda model: model._meta.model_name)
def test_an_append_only_row_is_stored_by_the_door_only(model):
    for store in (lambda: model().save(), model.objects.create, lambda: model.objects.bulk_create([model()])):
        with pytest.raises(NotAppended, match=f"{model.__name__} is append-only. Store it with append_row"):
            store()


def test_nothing_is_recorded_outside_a_write(lead):
    lot = factories.seed_lot()
    calls = [
        lambda: audit_record(actor=lead, verb="lot.added", obj=lot),
        lambda: append_row(LedgerEntry(lot=lot)),
        lambda: append_rows([Rating()]),
        lambda: append_in_bulk(Observation, [], []),
    ]
    for call in calls:
        with pytest.raises(OutsideWrite, match="Mark the service with @write"):
            call()


def test_rows_in_bulk_without_their_sum_are_refused(lead):
    planting = factories.planting()
    census_round, trees = factories.census_round(planting), factories.trees(planting, count=2, actor=lead)
    names = ["uuid", "round", "tree", "status", "observed_on", "entered_by", "received_at"]
    rows = [(factories.uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, lead.pk, datetime.datetime.now(datetime.UTC)) for tree in trees]
    with pytest.raises(RuntimeError, match="Rows stored in bulk and rows in audit entries differ: {'Observation': 1}"), writing():
        append_in_bulk(Observation, names, rows)
        keys = [trees[0].observations.get().pk]
        audit_record(actor=lead, verb="planting.census_recorded", obj=planting, in_bulk=(Observation, keys))
    assert not Observation.objects.exists()


# -- read from the source, so that a service no test runs is found too --------------------------------------------------------

SERVICES = [path for app in ("registry", "plantings") for path in sorted((PROJECT / app / "services").rglob("*.py"))]
DOOR = PROJECT / "registry" / "services" / "audit"
RECORDING = {"audit_record", "append_row", "append_rows", "append_in_bulk"}
MARKS = {"write", "stores_refusal"}


def called(node):
    """Names of the functions and methods called anywhere in a node."""
    calls = [one.func for one in ast.walk(node) if isinstance(one, ast.Call)]
    return {func.id if isinstance(func, ast.Name) else func.attr for func in calls if isinstance(func, (ast.Name, ast.Attribute))}


def test_every_service_that_records_is_marked_as_a_write():
    seen, wrong = 0, []
    for path in SERVICES:
        if path.parent == DOOR:
            continue
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and called(node) & RECORDING:
                seen += 1
                if not MARKS & {mark.id for mark in node.decorator_list if isinstance(mark, ast.Name)}:
                    wrong.append(f"{path.relative_to(PROJECT)}: {node.name}")
    assert seen > 50 and wrong == []


def test_services_and_sheets_open_no_transaction_of_their_own():
    """`transaction.atomic` inside a write would keep the entries of rows that were taken back."""
    places = [*SERVICES, *(path for app in ("registry", "plantings") for path in sorted((PROJECT / app / "imports").rglob("*.py")))]
    # the door with its waiting, the database of a backup as a whole, the demo, which holds whole writes, one a sheet, and the count of
    # older tallies, which records nothing
    may = {DOOR / "write.py", DOOR / "busy.py", DOOR / "backup_database.py", PROJECT / "plantings" / "imports" / "demo" / "loading.py"}
    may.add(DOOR / "book_load.py")  # the records of an export as a whole, with the audit trail that comes with them
    may.add(PROJECT / "plantings" / "services" / "census" / "tallies.py")
    may.add(PROJECT / "registry" / "services" / "shared" / "table_statistics.py")  # stores nothing
    wrong = [path.relative_to(PROJECT).as_posix() for path in places if path not in may and "transaction.atomic" in path.read_text()]
    assert wrong == []


PAST = re.compile(r"_base_manager\.\w*create\(|\bsave_base\(|(?<!def )\bbulk_insert\(|\bQuerySet\(\w+\)\.")


def test_only_the_door_goes_past_the_refusals():
    places = [path for app in ("registry", "plantings") for path in sorted((PROJECT / app).rglob("*.py"))]
    found = {path.relative_to(PROJECT).as_posix() for path in places if PAST.search(path.read_text(encoding="utf-8"))}
    # the second takes over what older versions stored, in a migration, where no write is open
    assert found == {"registry/services/audit/trail.py", "registry/services/audit/taking_over.py"}
