"""A backup while the site is in use, and the same site from it in an empty place. Whatever stops either, nothing half looks whole."""

import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import sys
import threading
import zipfile
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, connections
from django.utils import timezone

from plantings.selectors.overview.today import site_lines
from registry.disk import whole_files
from registry.models import AuditEntry, LedgerEntry, Lot, StoredFile
from registry.selectors.audit.verify import chain_head
from registry.services.audit.backup import MANIFEST, backup_write
from registry.services.audit.backup_key import KeyFault, key_pair, public_key
from registry.services.lots.ledger import ledger_enter
from registry.services.permits.authorizations import document_add
from tests import factories
from tests.places import PROJECT

pytestmark = pytest.mark.django_db(transaction=True)
PDF = b"%PDF-1.7 the permit"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path / "site", str(tmp_path / "site" / "files")
    settings.DATA_DIR.mkdir()
    (settings.DATA_DIR / "secret.key").write_text("the key of the site that was backed up")


@pytest.fixture
def site():
    """A lot with a ledger, a paper with a document, a planting with a census."""
    lead = factories.person("lead", username="anna")
    document_add(actor=lead, paper=factories.authorization(actor=lead), content=PDF, filename="permit.pdf", title="Permit")
    planting = factories.planting()
    trees, census_round = factories.trees(planting, count=4, actor=lead), factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(trees, "A"), height_cm=120)
    return lead


class Place:
    """An empty place: a data folder and a database of its own, reached by commands as a person would."""

    def __init__(self, folder, url):
        self.folder = folder
        self.environment = {"PATH": os.environ["PATH"], "PYTHONPATH": os.environ.get("PYTHONPATH", ""), "PYTHONUTF8": "1"}
        self.environment |= {"MASTBOOK_DATA_DIR": str(folder), "DATABASE_URL": url}

    def run(self, *words, **options):
        command = [sys.executable, "manage.py", *map(str, words)]
        return subprocess.run(command, cwd=PROJECT, env=self.environment, capture_output=True, text=True, timeout=240, **options)

    def ask(self, expression):
        found = self.run("shell", "-v", "0", "-c", f"import json; from registry.models import *; print(json.dumps({expression}))")
        assert found.returncode == 0, found.stderr
        return json.loads(found.stdout.splitlines()[-1])


@pytest.fixture
def empty_place(tmp_path):
    """Nothing is there, so that on PostgreSQL a restore makes the tables by migrations."""
    with place(tmp_path / "elsewhere") as made:
        yield made


@pytest.fixture
def place_with_tables(tmp_path):
    """On PostgreSQL with the tables of the newest version, for tests of what comes after them. Asked for before `site`: no records yet."""
    with place(tmp_path / "elsewhere", template=connection.settings_dict["NAME"]) as made:
        yield made


@contextlib.contextmanager
def place(folder, template="template1"):
    folder.mkdir()
    if connection.vendor == "sqlite":
        yield Place(folder, "")
        return
    name, parts = f"elsewhere{os.getpid()}", connection.settings_dict
    connection.close()  # a database that somebody is connected to cannot be copied
    with connection._nodb_cursor() as cursor:
        cursor.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
    yield Place(folder, f"postgresql://{parts['USER']}:{parts['PASSWORD']}@{parts['HOST']}:{parts['PORT']}/{name}")
    with connection.cursor() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def named(folder):
    return sorted(path.name for path in folder.iterdir() if path.is_file())


def test_a_backup_gives_the_same_site_elsewhere(site, tmp_path, empty_place):
    head = chain_head()
    call_command("backup", str(tmp_path / "a.zip"))
    done = empty_place.run("restore", tmp_path / "a.zip")
    assert done.returncode == 0, done.stderr
    assert f"Head of the audit chain, {head[0]} entries: {head[1]}" in done.stdout and "0 differences" in done.stderr
    assert "WRONG" not in done.stdout and "ok     Head noted elsewhere" in done.stdout
    assert empty_place.ask("[Person.objects.first().username, list(AuditHead.objects.values_list('entries', 'sha256'))]") == [
        "anna",
        [list(head)],
    ]
    assert (empty_place.folder / "secret.key").read_text() == "the key of the site that was backed up"
    stored = StoredFile.objects.get()
    assert (empty_place.folder / "files" / "kept" / stored.sha256[:2] / stored.sha256).read_bytes() == PDF
    made = empty_place.ask("Taxon.objects.create(name='Juglans after').pk")
    assert made > max(Lot.objects.values_list("taxon", flat=True))  # the numbers go on from there
    again = empty_place.run("restore", tmp_path / "a.zip")
    assert again.returncode == 1 and "there are records in it already" in again.stderr and "Traceback" not in again.stderr


@pytest.mark.one_database
def test_an_encrypted_backup_opens_with_its_key_only(site, tmp_path, empty_place):
    call_command("backup", "--new-key", str(tmp_path / "key"))
    assert (tmp_path / "key").stat().st_mode & 0o777 == 0o600
    with pytest.raises(CommandError, match="exists already"):
        call_command("backup", "--new-key", str(tmp_path / "key"))
    public = (tmp_path / "key").read_text().split("public key: ")[1].split()[0]
    path = tmp_path / "a.age"
    call_command("backup", str(path), "--key", public)
    assert b"manifest.json" not in path.read_bytes() and path.read_bytes().startswith(b"age-encryption.org/v1")
    (tmp_path / "other").write_text(key_pair()[0])
    for words, said in (((), "is encrypted"), (("--key-file", tmp_path / "other"), "the key is another one")):
        done = empty_place.run("restore", path, *words)
        assert done.returncode == 1 and said in done.stderr and "Traceback" not in done.stderr
    (tmp_path / "cut.age").write_bytes(path.read_bytes()[:-9])
    done = empty_place.run("restore", tmp_path / "cut.age", "--key-file", tmp_path / "key")
    assert done.returncode == 1 and "damaged or incomplete" in done.stderr
    done = empty_place.run("restore", path, "--key-file", tmp_path / "key")
    assert done.returncode == 0, done.stderr
    assert empty_place.ask("Person.objects.first().username") == "anna"


@pytest.mark.one_database
@pytest.mark.parametrize("key", ["age1", "AGE-SECRET-KEY-1", ""])
def test_a_key_that_is_none_is_refused(key):
    with pytest.raises(KeyFault, match="not a public key"):
        public_key(key)


def test_the_last_backup_is_recorded_and_the_lead_sees_when(site, tmp_path):
    on = timezone.localdate()

    def said(person, day=on):
        return [(line.severity, line.text) for line in site_lines(person, day, timezone.now())]

    [(severity, text)] = said(site)
    assert severity == "odd" and text.startswith("No backup is recorded. Make one")
    assert said(factories.person("coordinator")) == []
    call_command("backup", str(tmp_path))
    [path] = tmp_path.glob("mastbook-*.zip")
    entry = AuditEntry.objects.get(verb="audithead.backed_up")
    assert (entry.actor, entry.changes["file"][1]) == (site, path.name)
    assert entry.changes["sha256"][1] == hashlib.sha256(path.read_bytes()).hexdigest()
    assert [severity for severity, _text in said(site)] == ["info"]
    [(severity, text)] = said(site, on + timezone.timedelta(days=9))
    assert severity == "late" and "9 days ago" in text
    with pytest.raises(CommandError, match="exists already"):
        call_command("backup", str(path))


def test_a_backup_taken_while_others_write_is_one_state(place_with_tables, site, tmp_path):
    lot = factories.seed_lot(actor=site, seeds=10)
    stop = threading.Event()

    def write():
        try:
            while not stop.is_set():
                ledger_enter(actor=site, lot=Lot.objects.get(pk=lot.pk), kind="harvested", quantity=1, on=factories.day(lot.year))
        finally:
            connections.close_all()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while LedgerEntry.objects.filter(lot=lot).count() < 5:
            assert writer.is_alive()
        backup_write(path=tmp_path / "a.zip")
        count = LedgerEntry.objects.filter(lot=lot).count()
    finally:
        stop.set()
        writer.join()
    done = place_with_tables.run("restore", tmp_path / "a.zip")
    assert done.returncode == 0, done.stdout + done.stderr  # verify and recount find one state
    balance, lines = place_with_tables.ask(f"[Lot.objects.get(pk={lot.pk}).balance, LedgerEntry.objects.filter(lot_id={lot.pk}).count()]")
    assert balance == 9 + lines and 5 <= lines <= count


# -- damaged, foreign, stopped -------------------------------------------------------------------------------------------------


def changed(source, target, change):
    """A copy of an archive whose members `change(name, content)` gives, None for one that is left out."""
    with zipfile.ZipFile(source) as read, zipfile.ZipFile(target, "w") as written:
        for name in read.namelist():
            if (content := change(name, read.read(name))) is not None:
                written.writestr(name, content)


CHANGES = [
    (lambda name, content: content + b"x" if name.startswith("files/") else content, "The backup is damaged, nothing was restored: files/"),
    (lambda name, content: None if name == "secret.key" else content, "The backup is damaged, nothing was restored: secret.key"),
    (lambda name, content: None if name == MANIFEST else content, "its list of contents is missing"),
    (lambda name, content: content.replace(b'"format": 1', b'"format": 9'), "has the form 9, this program reads 1"),
    (lambda name, content: content.replace(b"registry.0001_records", b"registry.9999_records"), "A newer version of this program"),
]


@pytest.mark.one_database
def test_a_damaged_or_foreign_backup_restores_nothing(site, tmp_path, empty_place):
    backup_write(path=tmp_path / "a.zip")
    for change, said in CHANGES:

        def spoil(name, content, change=change):
            return content if "database/" in name else change(name, content)

        changed(tmp_path / "a.zip", tmp_path / "b.zip", spoil)
        done = empty_place.run("restore", tmp_path / "b.zip")
        assert done.returncode == 1 and said in done.stderr and "Traceback" not in done.stderr
        assert list(empty_place.folder.glob("files/**/*")) == []


@pytest.mark.one_database
def test_a_backup_that_was_cut_off_or_is_absent_gets_a_sentence(site, tmp_path, empty_place):
    backup_write(path=tmp_path / "a.zip")
    (tmp_path / "cut.zip").write_bytes((tmp_path / "a.zip").read_bytes()[:-100])
    for name, said in (("cut.zip", "This is not a complete backup"), ("none.zip", "No such file")):
        done = empty_place.run("restore", tmp_path / name)
        assert done.returncode == 1 and said in done.stderr and "Traceback" not in done.stderr


@pytest.mark.one_database
def test_files_already_there_are_not_mixed_with_a_backup(site, tmp_path, empty_place):
    backup_write(path=tmp_path / "a.zip")
    (empty_place.folder / "files").mkdir()
    (empty_place.folder / "files" / "mine.pdf").write_bytes(PDF)
    done = empty_place.run("restore", tmp_path / "a.zip")
    assert done.returncode == 1 and "there are files in it already, such as mine.pdf" in done.stderr


@pytest.mark.one_database
def test_a_full_disk_leaves_no_backup(site, tmp_path, monkeypatch):
    def refuse(_handle):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched, pytest.raises(CommandError, match="Nothing was written: the disk of the server is full"):
        patched.setattr(whole_files.os, "fsync", refuse)
        call_command("backup", str(tmp_path / "a.zip"))
    assert named(tmp_path) == [] and not AuditEntry.objects.filter(verb="audithead.backed_up").exists()


# A program that ends without a word at one of its calls to the operating system; the rest is a command of manage.py.
ENDING = """
import os, sys
sys.argv = ["manage.py", *sys.argv[2:]]
left = iter(range(int(os.environ["END_AT"])))
def counting(call):
    def counted(*args, **options):
        if next(left, None) is None:
            os._exit(9)
        return call(*args, **options)
    return counted
from registry.disk import whole_files
from registry.services import audit
import zipfile
for name in ("fsync", "replace", "link", "unlink"):
    setattr(os, name, counting(getattr(os, name)))
zipfile.ZipFile.open = counting(zipfile.ZipFile.open)
import manage
manage.main()
"""


def ended(place, number, *words):
    command = [sys.executable, "-c", ENDING, "manage.py", *map(str, words)]
    environment = place.environment | {"END_AT": str(number), "DJANGO_SETTINGS_MODULE": "registry.settings"}
    return subprocess.run(command, cwd=PROJECT, env=environment, capture_output=True, text=True, timeout=240)


@pytest.mark.parametrize("number", [2, 9])
def test_a_restore_that_was_killed_can_be_run_again(site, tmp_path, empty_place, number):
    backup_write(path=tmp_path / "a.zip")
    assert ended(empty_place, number, "restore", tmp_path / "a.zip").returncode == 9
    done = empty_place.run("restore", tmp_path / "a.zip")
    assert done.returncode == 0, done.stderr
    assert empty_place.ask("Person.objects.first().username") == "anna"
    assert list(empty_place.folder.glob(".work-*")) == []


@pytest.mark.parametrize("number", [4])
def test_a_backup_that_was_killed_leaves_no_file_of_its_name(place_with_tables, site, tmp_path, number):
    backup_write(path=tmp_path / "a.zip")
    assert place_with_tables.run("restore", tmp_path / "a.zip").returncode == 0
    target = tmp_path / "backups" / "b.zip"
    done = ended(place_with_tables, number, "backup", target)
    assert done.returncode == 9, done.stderr
    with contextlib.suppress(FileNotFoundError), zipfile.ZipFile(target) as archive:
        assert archive.testzip() is None and archive.namelist()[-1] == MANIFEST
    shutil.rmtree(target.parent, ignore_errors=True)
    assert place_with_tables.run("backup", target).returncode == 0
    assert [path.name for path in place_with_tables.folder.glob(".work-*")] == []


def test_a_backup_changes_nothing_of_what_it_copies(site, tmp_path):
    before = {path: path.read_bytes() for path in Path(tmp_path / "site" / "files").rglob("*") if path.is_file()}
    backup_write(path=tmp_path / "a.zip")
    assert before == {path: path.read_bytes() for path in Path(tmp_path / "site" / "files").rglob("*") if path.is_file()} != {}
    assert named(tmp_path / "site") == ["secret.key"] and AuditEntry.objects.filter(verb="audithead.backed_up").count() == 0
