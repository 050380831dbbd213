"""A backup whose list of contents says something else, or cannot be read, is refused in words, and nothing is stored."""

import json
import zipfile

import pytest

from registry.services.audit import restore
from registry.services.audit.backup import MANIFEST, backup_write
from registry.services.audit.restore import RestoreRefused, backup_restore
from tests import factories

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.one_database]


@pytest.fixture
def backup(settings, tmp_path):
    """The path of a backup, and a function that writes it again with another list of contents."""
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path / "site", str(tmp_path / "site" / "files")
    settings.DATA_DIR.mkdir()
    factories.person("lead")
    path = tmp_path / "a.zip"
    backup_write(path=path)
    with zipfile.ZipFile(path) as archive:
        members = [(name, archive.read(name)) for name in archive.namelist()]
    said = json.loads(members.pop()[1])

    def written(content):
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, inside in (*members, (MANIFEST, content)):
                archive.writestr(name, inside)
        return path

    return path, said, written


def refusal(path):
    with pytest.raises(RestoreRefused) as refused:
        backup_restore(path=path)
    return str(refused.value)


def test_a_sound_list_of_contents_gets_as_far_as_the_place(backup):
    path, said, written = backup
    assert "there are records in it already" in refusal(written(json.dumps(said)))


@pytest.mark.parametrize("content", ["", "{", b"\xd8", "[" * 100_000, "9" * 5000])
def test_a_list_of_contents_that_is_not_json_is_refused(backup, content):
    _path, _said, written = backup
    assert refusal(written(content)) == "The backup is damaged, nothing was restored: its list of contents cannot be read."


@pytest.mark.parametrize("content", ["[]", "1.5", '"format"', "{}", "null"])
def test_a_list_of_contents_of_something_else_is_refused(backup, content):
    _path, _said, written = backup
    assert refusal(written(content)) == "This is not a backup of this program: its list of contents says something else."


PARTS = [("members",), ("database",), ("made_at",), ("variables",), ("database", "head"), ("database", "migrations")]


@pytest.mark.parametrize("value", [None, 5e-324, "", [[]], {"a": []}, [1]], ids=str)
@pytest.mark.parametrize("part", PARTS, ids=" ".join)
def test_a_part_of_the_list_of_contents_of_another_kind_is_refused(backup, part, value):
    _path, said, written = backup
    inner = said
    for name in part[:-1]:
        inner = inner[name]
    inner[part[-1]] = value
    assert "The backup is damaged, nothing was restored" in refusal(written(json.dumps(said)))


def test_a_backup_with_octets_of_its_list_changed_is_refused(backup):
    path, _said, written = backup
    written(b"x" * 3000)
    content = bytearray(path.read_bytes())
    at = content.rindex(b"manifest.json", 0, content.rindex(b"manifest.json")) + len(b"manifest.json")
    content[at : at + 4] = b"\xff\xff\xff\xff"
    path.write_bytes(content)
    assert "its list of contents cannot be read" in refusal(path)


def test_what_the_database_does_not_take_is_said(backup, monkeypatch):
    path, _said, _written = backup
    monkeypatch.setattr(restore, "_check_place", lambda members: None)
    monkeypatch.setattr(
        restore, "database_load", lambda *given: (_ for _ in ()).throw(restore.sqlite3.DatabaseError("file is not a database"))
    )
    assert refusal(path) == "The database does not take the records of this backup, and none of them was stored: file is not a database."
