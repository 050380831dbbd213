"""`export_book` and `import_book`: every record type, the same bytes again, and a sentence for each folder that is not complete."""

import hashlib
import io
import json
import shutil

import pytest
from django.apps import apps
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, models, transaction
from hypothesis import HealthCheck, given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st

from plantings.exports.book import FolderTaken, book_export
from plantings.models import BoundaryLayer, Observation
from plantings.services.trees import counted_plot_add
from registry.calc.shared.part_dates import PartDate
from registry.models import AuditEntry, Lot, Partner, Person, StoredFile
from registry.selectors.audit.book_schema import table_words
from registry.selectors.audit.book_tables import COLUMNS_LEFT_OUT, DOCUMENTS, LEFT_OUT, MANIFEST, OF_PROGRAM, book_tables
from registry.selectors.audit.verify import verify_book
from registry.services.audit.book_folder import BookRefused
from registry.services.audit.book_load import book_load
from registry.services.lots.ledger import ledger_enter
from registry.services.permits.authorizations import document_add
from registry.services.shared.records import record_save
from tests import factories
from tests.project.one_of_everything import world
from tests.registry.audit.backup_places import Place

pytestmark = pytest.mark.django_db
PERMIT = b"%PDF-1.7 the permit"


@pytest.fixture(scope="module")
def written(django_db_setup, django_db_blocker, tmp_path_factory):
    """A folder with one of everything; the records are taken back."""
    with django_db_blocker.unblock(), transaction.atomic():
        lead = world()[0]["lead"]
        permit = {"content": PERMIT, "filename": "permit.pdf", "title": "Permit"}
        document_add(actor=lead, paper=factories.authorization(actor=lead), **permit)
        plot = {"planting": factories.planting(), "code": "U1", "lot": factories.seed_lot()}
        counted_plot_add(actor=lead, planted_count=None, **plot)  # nobody knows how many
        default_storage.save(BoundaryLayer.objects.get().file.name, ContentFile(b"made for a test"))
        folder = tmp_path_factory.mktemp("export") / "records"
        book_export(folder)
        transaction.set_rollback(True)
    return folder


@pytest.fixture
def elsewhere(settings, tmp_path):
    """An empty data folder."""
    settings.MEDIA_ROOT = str(tmp_path / "files")
    (tmp_path / "files").mkdir()
    return tmp_path


def faults():
    return [fault for check in verify_book() for fault in check.faults]


def content(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_every_record_type_is_exported_or_left_out_with_a_reason():
    models_now = {model._meta.label: model for model in apps.get_models(include_auto_created=True)}
    exported = {table.model._meta.label for table in book_tables()}
    assert exported | LEFT_OUT.keys() == models_now.keys()
    assert exported & LEFT_OUT.keys() == set() and all(LEFT_OUT.values()) and all(COLUMNS_LEFT_OUT.values())
    for label in exported:
        columns = {field.attname for field in models_now[label]._meta.concrete_fields}
        [table] = [table for table in book_tables() if table.model._meta.label == label]
        assert {f"{label}.{name}" for name in columns - set(table.columns)} <= COLUMNS_LEFT_OUT.keys()


def test_every_table_has_a_name_of_its_own_and_says_what_it_is():
    names = [table.name for table in book_tables()]
    assert len(set(names)) == len(names) and DOCUMENTS not in names
    assert [table.name for table in book_tables() if not table_words(table)] == []


def test_no_column_of_text_has_two_kinds_of_empty():
    # in a CSV cell an empty text and no value look the same
    texts = (models.CharField, models.TextField, models.FileField)
    assert [str(field) for table in book_tables() for field in table.fields if field.null and isinstance(field, texts)] == []


def test_a_table_comes_after_those_it_points_to():
    place = {table.model: number for number, table in enumerate(book_tables())}
    wrong = {
        (table.name, field.name) for table in book_tables() for field in table.fields
        if field.related_model and field.related_model is not table.model and place[field.related_model] > place[table.model]
    }  # fmt: skip
    assert wrong == set()


def test_one_of_everything_comes_back_the_same(written, elsewhere):
    said = json.loads((written / "datapackage.json").read_text())
    filled = {resource["name"] for resource in said["resources"] if resource.get("rows")}
    assert len(filled) > 70
    book_load(written)
    book_export(elsewhere / "again")
    assert content(elsewhere / "again") == content(written)
    assert faults() == []
    # what is recorded next gets numbers of its own, and goes on with the chain
    lead = Person.objects.filter(role="lead").first()
    before = AuditEntry.objects.count()
    record_save(actor=lead, obj=Partner(code="NEXT", name="Next", kind="landowner"))
    assert AuditEntry.objects.count() == before + 1
    assert faults() == []
    assert not lead.has_usable_password()


def test_a_document_is_named_by_its_hash_and_goes_back_to_its_place(written, elsewhere):
    sha256 = hashlib.sha256(PERMIT).hexdigest()
    assert (written / "documents" / f"{sha256}.pdf").read_bytes() == PERMIT
    book_load(written)
    assert (elsewhere / "files" / "kept" / sha256[:2] / sha256).read_bytes() == PERMIT


@pytest.fixture
def on_sqlite(elsewhere):
    """Runs a command on an empty SQLite and gives its output: here, or in a program of its own where the tests are on PostgreSQL."""
    place = Place(elsewhere, "")

    def run(*words):
        if connection.vendor == "postgresql":
            done = place.run(*words)
            assert done.returncode == 0, done.stderr
            return done.stdout + done.stderr
        said = io.StringIO()
        call_command(*map(str, words), stdout=said, stderr=said)
        return said.getvalue()

    return run


def test_the_commands_bring_the_records_of_either_database_into_sqlite(written, elsewhere, on_sqlite):
    said = on_sqlite("import_book", written)
    assert "0 differences" in said and "ok     Audit chain" in said and "WRONG" not in said
    on_sqlite("export_book", elsewhere / "again")
    assert content(elsewhere / "again") == content(written)


# -- folders that are not what was written -----------------------------------------------------------------------


def sealed(folder):
    """Write the list of hashes again, as somebody would who changed a table on purpose."""
    lines = [
        f"{hashlib.sha256(body).hexdigest()}  {name}\n" for name, body in sorted(content(folder).items()) if name != MANIFEST
    ]  # fmt: skip
    (folder / MANIFEST).write_text("".join(lines))


def changed(path, change):
    path.write_bytes(change(path.read_bytes()))


def cell_changed(folder, table, column, text):
    """The first row of a table with another text in a column."""
    path = folder / "tables" / f"{table}.csv"
    head, first, *rest = path.read_text().split("\n")
    cells = first.rstrip("\r").split(",")
    cells[head.rstrip("\r").split(",").index(column)] = text
    path.write_text("\n".join([head, ",".join(cells) + "\r", *rest]), newline="")


FAULTS = [
    (lambda f: (f / "tables/lot.csv").unlink(), False, "tables/lot.csv: manifest-sha256.txt lists it, and it is not in the folder"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b + b"x"), False, "tables/lot.csv was changed after the export"),
    (lambda f: (f / "notes.txt").write_text("mine"), False, "notes.txt: it is in the folder, and manifest-sha256.txt does not list it"),
    (lambda f: (f / MANIFEST).unlink(), False, "There is no manifest-sha256.txt in "),
    (lambda f: (f / MANIFEST).write_text("0" * 64 + "  ../../etc/passwd\n"), False, "manifest-sha256.txt, row 1: it is not a hash"),
    (lambda f: (f / "datapackage.json").write_text("{}"), True, "datapackage.json does not describe a folder of"),
    (lambda f: changed(f / "datapackage.json", lambda b: b.replace(b'"format": 1', b'"format": 9')), True, "has the form 9"),
    (
        lambda f: changed(f / "datapackage.json", lambda b: b.replace(b'"registry": "0', b'"registry": "9')),
        True,
        "Another version of Mastbook wrote this folder: its tables are those of 9",
    ),
    (lambda f: changed(f / "datapackage.json", lambda b: b.replace(b'"name": "lot"', b'"name": "batch"')), True, "batch, lot: this version"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b.replace(b"year", b"season", 1)), True, "tables/lot.csv, row 1: this version has no column “season”"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b.rstrip().rsplit(b",", 15)[0]), True, "it has a cell in 8 of 23 columns: the row was cut off"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b""), True, "tables/lot.csv is empty"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b + b"\xff\r\n"), True, "the file is not UTF-8"),
    (lambda f: changed(f / "tables/lot.csv", lambda b: b + b'"1'), True, "it cannot be read as CSV"),
    (lambda f: cell_changed(f, "lot", "year", "last"), True, "tables/lot.csv, row 2, column year: “last” is not a whole number"),
    (lambda f: cell_changed(f, "lot", "balance", ""), True, "tables/lot.csv, row 2, column balance: it is empty, and every row has one"),
    (lambda f: cell_changed(f, "lot", "taxon_id", "99"), True, "column taxon_id: tables/taxon.csv has no row with id 99"),
    (lambda f: cell_changed(f, "lot", "balance", "-1"), True, "tables/lot.csv, row 2: the database does not take it"),
    (lambda f: cell_changed(f, "lot", "balance", "9" * 30), True, "tables/lot.csv, row 2: the database does not take it"),
    (lambda f: cell_changed(f, "documents", "path", "../../x"), True, "tables/documents.csv, row 2, column path: “../../x” leads out"),
    (lambda f: cell_changed(f, "documents", "document", "tables/lot.csv"), True, "the file tables/lot.csv is missing, or its hash is not"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "is_sealed", "said"), FAULTS)
def test_a_damaged_folder_gets_a_sentence_and_stores_nothing(written, elsewhere, change, is_sealed, said):
    folder = shutil.copytree(written, elsewhere / "copy")
    change(folder)
    if is_sealed:
        sealed(folder)
    with pytest.raises(BookRefused) as refused:
        book_load(folder)
    assert said in str(refused.value)
    assert not any(table.model._base_manager.exists() for table in book_tables()) and list((elsewhere / "files").iterdir()) == []


def test_records_are_not_mixed_with_those_that_are_there(written, elsewhere):
    factories.person("lead", username="anna")
    with pytest.raises(CommandError, match="Nothing was imported. There are records here already"):
        call_command("import_book", str(written))
    assert list(Person.objects.values_list("username", flat=True)) == ["anna"]


def test_files_that_are_there_are_not_mixed_with_others(written, elsewhere):
    (elsewhere / "files" / "mine.pdf").write_bytes(b"mine")
    with pytest.raises(BookRefused, match="There are uploaded files here already, such as mine.pdf"):
        book_load(written)


def test_an_export_overwrites_no_folder_and_leaves_none_half_written(elsewhere, monkeypatch):
    (elsewhere / "records").mkdir()
    (elsewhere / "records" / "mine.txt").write_text("mine")
    with pytest.raises(FolderTaken, match="is not empty"):
        book_export(elsewhere / "records")

    def refuse(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("plantings.exports.book.readme_text", refuse)
    with pytest.raises(OSError, match="No space"):
        book_export(elsewhere / "new")
    assert sorted(path.name for path in elsewhere.iterdir()) == ["files", "records"]


def test_a_document_that_is_gone_is_named_and_the_rest_is_written(elsewhere):
    lead = factories.person("lead", username="anna")
    document_add(actor=lead, paper=factories.authorization(actor=lead), content=b"%PDF-1.7", filename="permit.pdf", title="Permit")
    sha256 = StoredFile.objects.get().sha256
    (elsewhere / "files" / "kept" / sha256[:2] / sha256).unlink()
    with pytest.raises(CommandError, match=r"1 file of records were gone or changed, and are not in it: permit.pdf"):
        call_command("export_book", str(elsewhere / "records"))
    assert f"kept/{sha256[:2]}/{sha256},{sha256},,permit.pdf" in (elsewhere / "records" / "tables" / "documents.csv").read_text()
    assert AuditEntry.objects.filter(verb="audithead.exported", actor=lead).count() == 1


# -- any small set of records -------------------------------------------------------------------------------------

NOTES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
LOTS = st.lists(st.tuples(st.integers(1, 500), NOTES, st.lists(st.integers(1, 30), max_size=3)), min_size=1, max_size=3)
VISITED = st.sampled_from([PartDate(2019), PartDate(2019, 10), factories.day(2019, 10, 1)])
CENSUS = st.lists(st.tuples(st.sampled_from(["A", "AR", "NF", "NV"]), st.none() | st.floats(1, 900), NOTES, VISITED), max_size=4)


@hypothesis_settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(lots=LOTS, seen=CENSUS)
def test_any_small_set_of_records_comes_back_the_same(elsewhere, lots, seen):
    first, second = elsewhere / "first", elsewhere / "second"
    with transaction.atomic():
        lead = factories.person("lead", username="anna")
        for seeds, note, discarded in lots:
            lot = factories.seed_lot(actor=lead, seeds=seeds + sum(discarded), note=note)
            for number, quantity in enumerate(discarded):
                said = {"on": factories.day(2019, 5), "reference": f"{number} {note}"}
                ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=quantity, **said)
        planting = factories.planting(planted_on=PartDate(2019))
        trees, census_round = factories.trees(planting, count=len(seen) + 1, actor=lead), factories.census_round(planting)
        for tree, (status, height, note, on) in zip(trees, seen, strict=False):
            measured = {"height_cm": height} if status == "A" else {}
            factories.observe(census_round, {tree: status}, actor=lead, note=note, observed_on=on, **measured)
        balances = sorted(Lot.objects.values_list("code", "balance"))
        book_export(first)
        transaction.set_rollback(True)
    with transaction.atomic():
        book_load(first)
        book_export(second)
        assert content(second) == content(first)
        assert sorted(Lot.objects.values_list("code", "balance")) == balances
        assert Observation.objects.count() == len(seen)
        assert faults() == []
        transaction.set_rollback(True)
    shutil.rmtree(first)
    shutil.rmtree(second)


def test_names_of_apps_are_those_of_the_program():
    assert {table.model._meta.app_label for table in book_tables()} == set(OF_PROGRAM)
