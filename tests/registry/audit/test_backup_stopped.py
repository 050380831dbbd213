"""A backup that is damaged, foreign or cut off restores nothing, and whatever stops a backup or a restore, nothing half looks whole."""

import contextlib
import shutil
import subprocess
import sys
import zipfile

import pytest
from django.core.management import CommandError, call_command

from registry.disk import whole_files
from registry.models import AuditEntry
from registry.services.audit.backup import MANIFEST, backup_write
from tests.places import PROJECT
from tests.registry.audit.backup_places import PDF, named

pytestmark = pytest.mark.django_db(transaction=True)


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
def test_a_restore_that_was_killed_can_be_run_again(place_with_tables, site, tmp_path, number):
    backup_write(path=tmp_path / "a.zip")
    assert ended(place_with_tables, number, "restore", tmp_path / "a.zip").returncode == 9
    done = place_with_tables.run("restore", tmp_path / "a.zip")
    assert done.returncode == 0, done.stderr
    assert place_with_tables.ask("Person.objects.first().username") == "anna"
    assert list(place_with_tables.folder.glob(".work-*")) == []


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
