"""A backup goes into an empty place: every hash is checked first, then the files, last the database, all of it or nothing."""

import contextlib
import hashlib
import json
import sqlite3
import zipfile
import zlib
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from django.core.files.storage import default_storage
from django.db import Error, OperationalError, ProgrammingError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from registry.disk.whole_files import PART, write_whole
from registry.models import Person
from registry.services.audit.backup import FILES, FORMAT, KEY, MANIFEST, signing_key_path, workplace
from registry.services.audit.backup_database import DATABASE, database_load
from registry.services.audit.backup_key import backup_decrypt, is_encrypted

__all__ = ["RestoreRefused", "Restored", "backup_restore"]

_BYTES = 1 << 20
# what reading an archive raises where it is damaged: RuntimeError of an entry that says it is encrypted
_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, ValueError, NotImplementedError, RuntimeError)


class RestoreRefused(Exception):
    """Why nothing was restored, in words."""


class Restored(NamedTuple):
    """How many uploaded files were put in place, and what the manifest of the backup says."""

    files: int
    manifest: dict


def backup_restore(*, path, keys=()):
    """Put a backup into an empty place; `keys` decrypt it. Tables that a newer version of the program adds are up to `migrate`.

    Raises `RestoreRefused`, `KeyFault` for a key that does not fit, and `OSError`. A restore that was stopped can be run again.
    """
    with workplace() as folder, _plain(Path(path), keys, folder) as file, _archive(file) as archive:
        manifest = _checked_manifest(archive)
        _check_program(manifest["database"])
        _check_tables(manifest["database"])
        _check_place(manifest["members"])
        names = [name for name in manifest["members"] if name.startswith(FILES)]
        for name in names:
            write_whole(Path(default_storage.location) / name.removeprefix(FILES), _pieces(archive, name))
        if KEY in manifest["members"]:
            write_whole(signing_key_path(), _pieces(archive, KEY), mode=0o600)
        try:
            database_load(manifest["database"], lambda name: _pieces(archive, name), folder)
        except (Error, sqlite3.Error) as error:
            said = str(error).strip().split("\n")[0]
            raise RestoreRefused(f"The database does not take the records of this backup, and none of them was stored: {said}.") from error
    return Restored(len(names), manifest)


@contextlib.contextmanager
def _plain(path, keys, folder):
    """The archive, opened; decrypted into `folder` first if it is encrypted."""
    with path.open("rb") as file:
        if not is_encrypted(file):
            yield file
            return
        if not keys:
            raise RestoreRefused(f"{path.name} is encrypted. Name the file with the secret key: --key-file FILE.")
        with (folder / "archive.zip").open("w+b") as plain:
            backup_decrypt(file, plain, keys)
            plain.seek(0)
            yield plain


def _archive(file):
    try:
        return zipfile.ZipFile(file)
    except _DAMAGED as error:
        raise RestoreRefused("This is not a complete backup: it has no end. It was cut off, or is another kind of file.") from error


def _pieces(archive, name):
    with archive.open(name) as member:
        yield from iter(lambda: member.read(_BYTES), b"")


def _checked_manifest(archive):
    names = archive.namelist()
    if not names or names[-1] != MANIFEST:
        raise RestoreRefused("This is not a backup of this program: its list of contents is missing.")
    try:
        manifest = json.loads(archive.read(MANIFEST))
    except (*_DAMAGED, RecursionError) as error:
        raise RestoreRefused("The backup is damaged, nothing was restored: its list of contents cannot be read.") from error
    if not isinstance(manifest, dict) or "format" not in manifest:
        raise RestoreRefused("This is not a backup of this program: its list of contents says something else.")
    if manifest["format"] != FORMAT:
        raise RestoreRefused(f"This backup has the form {manifest['format']}, this program reads {FORMAT}. Use the program that made it.")
    if not _is_complete(manifest):
        raise RestoreRefused(
            "The backup is damaged, nothing was restored: its list of contents lacks a part, or a part is not what it must be."
        )
    members = manifest["members"]
    others = sorted(set(names[:-1]) ^ set(members))
    wrong = others + [name for name in names[:-1] if name not in others and not _is_whole(archive, name, members[name])]
    if wrong:
        raise RestoreRefused(f"The backup is damaged, nothing was restored: {', '.join(wrong[:5])}{' …' if len(wrong) > 5 else ''}.")
    for name in members:
        if not name.startswith(DATABASE) and name != KEY and not _is_below_files(name):
            raise RestoreRefused(f"The backup holds a file that leads elsewhere: {name}. Nothing was restored.")
    return manifest


def _is_complete(manifest):
    """Whether a list of contents has every part that a restore reads, each of its kind."""
    members, database = manifest.get("members"), manifest.get("database")
    if not (_is_table(members, str) and isinstance(database, dict) and _is_list(manifest.get("variables"))):
        return False
    head, run = database.get("head"), database.get("migrations")
    return (
        _is_moment(manifest.get("made_at"))
        and isinstance(head, dict)
        and (type(head.get("entries")), type(head.get("sha256"))) == (int, str)
        and _is_list(run)
        and all("." in name for name in run)
        and (
            database.get("vendor") != "postgresql"
            or (_is_table(database.get("columns"), list) and all(map(_is_list, database["columns"].values())))
        )
    )


def _is_list(value):
    return isinstance(value, list) and all(isinstance(one, str) for one in value)


def _is_table(value, kind):
    return isinstance(value, dict) and bool(value) and all(isinstance(one, kind) for one in value.values())


def _is_moment(value):
    try:
        return datetime.fromisoformat(value).tzinfo is not None
    except (TypeError, ValueError):
        return False


def _is_whole(archive, name, sha256):
    found = hashlib.sha256()
    try:
        for piece in _pieces(archive, name):
            found.update(piece)
    except (*_DAMAGED, OSError):
        return False
    return found.hexdigest() == sha256


def _is_below_files(name):
    return name.startswith(FILES) and ".." not in PurePosixPath(name).parts and not PurePosixPath(name.removeprefix(FILES)).is_absolute()


def _check_program(database):
    if database["vendor"] != connection.vendor:
        raise RestoreRefused(f"This backup is of records on {database['vendor']}, but DATABASE_URL leads to {connection.vendor}.")
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    if newer := [name for name in database["migrations"] if name not in known]:
        raise RestoreRefused(f"A newer version of this program made the backup ({newer[-1]}). Install that version or a later one first.")


def _check_tables(database):
    """PostgreSQL: tables there are must be of the version that made the backup, or an earlier one."""
    if connection.vendor == "postgresql":
        replacing = {
            key for key, migration in MigrationLoader(None).disk_migrations.items() if migration.replaces
        }  # noted beside the others
        applied = {f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations().keys() - replacing}
        if newer := sorted(applied - set(database["migrations"])):
            raise RestoreRefused(f"The database already has tables of a newer version ({newer[-1]}). Make an empty database.")


def _check_place(members):
    root = Path(default_storage.location)
    others = [
        path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file() and path.suffix != PART
        and f"{FILES}{path.relative_to(root).as_posix()}" not in members
    ]  # fmt: skip
    if others or _has_records():
        what = f"there are files in it already, such as {others[0]}" if others else "there are records in it already"
        raise RestoreRefused(f"A backup goes into an empty place, and {what}. Point MASTBOOK_DATA_DIR and DATABASE_URL to an empty one.")


def _has_records():
    try:
        return Person.objects.exists()
    except (OperationalError, ProgrammingError):  # there are no tables yet
        return False
