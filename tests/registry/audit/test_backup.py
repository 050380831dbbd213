"""A backup while the site is in use, and the same site from it in an empty place."""

import hashlib
import threading
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connections
from django.utils import timezone

from plantings.selectors.overview.today import site_lines
from registry.models import AuditEntry, LedgerEntry, Lot, StoredFile
from registry.selectors.audit.chain_head import chain_head
from registry.services.audit.backup import backup_write
from registry.services.audit.backup_key import KeyFault, key_pair, public_key
from registry.services.lots.ledger import ledger_enter
from tests import factories
from tests.registry.audit.backup_places import PDF, named

pytestmark = pytest.mark.django_db(transaction=True)


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
    [line] = site_lines(site, on + timezone.timedelta(days=9), timezone.now())
    assert line.severity == "late" and line.mine and "9 days ago" in line.text
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


def test_a_backup_changes_nothing_of_what_it_copies(site, tmp_path):
    before = {path: path.read_bytes() for path in Path(tmp_path / "site" / "files").rglob("*") if path.is_file()}
    backup_write(path=tmp_path / "a.zip")
    assert before == {path: path.read_bytes() for path in Path(tmp_path / "site" / "files").rglob("*") if path.is_file()} != {}
    assert named(tmp_path / "site") == ["secret.key"] and AuditEntry.objects.filter(verb="audithead.backed_up").count() == 0
