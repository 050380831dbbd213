"""A backup: one file with all that makes an installation the same again elsewhere. It is complete or absent, however the program ends.

It is a ZIP: the database, the files people uploaded, the signing key, and last a manifest with the SHA-256 of each. Documents are on
the disk before their records, and are never changed, so those of one state of the database are all there when they are copied after it.
"""

import contextlib
import hashlib
import json
import os
import shutil
import tempfile
import zipfile
from pathlib import Path
from typing import NamedTuple

from django.conf import settings
from django.core.files.storage import default_storage
from django.utils import timezone

from registry.disk.whole_files import PART, remove_abandoned, whole_file
from registry.models import AuditHead
from registry.services.audit.backup_database import database_snapshot
from registry.services.audit.backup_key import backup_encrypt
from registry.services.audit.trail import audit_record
from registry.services.audit.write import write

__all__ = ["FILES", "FORMAT", "KEY", "MANIFEST", "Backup", "backup_record", "backup_write", "signing_key_path", "workplace"]

FORMAT = 1
MANIFEST, FILES, KEY = "manifest.json", "files/", "secret.key"
_BYTES = 1 << 20


class Backup(NamedTuple):
    """What was written: the SHA-256 and size of the file, how many uploaded files are in it, and what its manifest says."""

    sha256: str
    size_bytes: int
    files: int
    manifest: dict


def signing_key_path():
    return settings.DATA_DIR / "secret.key"


@contextlib.contextmanager
def workplace():
    """A folder in the data folder for what is not ready; what an earlier run left when it was killed is removed."""
    for left in settings.DATA_DIR.glob(f".work-*{PART}"):
        _remove_if_abandoned(left)
    with tempfile.TemporaryDirectory(prefix=f".work-{os.getpid()}-", suffix=PART, dir=settings.DATA_DIR) as folder:
        yield Path(folder)


def _remove_if_abandoned(folder):

    try:
        os.kill(int(folder.name.split("-")[1]), 0)
    except ProcessLookupError:
        shutil.rmtree(folder, ignore_errors=True)
    except (ValueError, PermissionError):
        pass  # somebody else's


def backup_write(*, path, key=None):
    """Write a backup to a path. With a public `key` (see `backup_key`) it is encrypted. Raises `OSError`; nothing is left then.

    It changes nothing in the records: `backup_record` says that it was made.
    """
    path = Path(path)
    if path.parent.is_dir():
        remove_abandoned(path.parent, below=False)
    with workplace() as folder, whole_file(path, mode=0o600) as file:
        target = _Counted(file)
        if key is None:
            manifest = _write_archive(target, folder)
        else:
            with (folder / "archive.zip").open("w+b") as plain:
                manifest = _write_archive(plain, folder)
                plain.seek(0)
                backup_encrypt(plain, target, key)
    count = sum(1 for name in manifest["members"] if name.startswith(FILES))
    return Backup(target.hash.hexdigest(), target.size, count, manifest)


@write
def backup_record(*, actor, backup, filename):
    """Record that a backup was made: Today tells the lead when the last one was."""
    head = AuditHead.objects.get_or_create(pk=1)[0]
    changes = {"file": [None, filename], "sha256": [None, backup.sha256], "entries": [None, backup.manifest["database"]["head"]["entries"]]}
    audit_record(actor=actor, verb="audithead.backed_up", obj=head, changes=changes)


def _write_archive(file, folder):
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        members = _Members(archive)
        with database_snapshot(members, folder) as database:
            manifest = {"format": FORMAT, "made_at": timezone.now().isoformat(), "database": database}
        _add_files(members)
        # names alone: some values are secrets
        manifest |= {"variables": sorted(settings.VARIABLES_GIVEN), "members": members.hashes}
        archive.writestr(MANIFEST, json.dumps(manifest, indent=1, sort_keys=True))
    return manifest


def _add_files(members):
    root = Path(default_storage.location)
    for path in sorted(root.rglob("*")):
        if path.is_file() and path.suffix != PART:
            members.add_path(f"{FILES}{path.relative_to(root).as_posix()}", path)
    if signing_key_path().exists():
        members.add_path(KEY, signing_key_path())


class _Members:
    """Adds to an archive piece by piece, and notes the hash of each name."""

    def __init__(self, archive):
        self.archive, self.hashes = archive, {}

    def add(self, name, pieces):
        found = hashlib.sha256()
        with self.archive.open(name, "w", force_zip64=True) as member:
            for piece in pieces:
                found.update(piece)
                member.write(piece)
        self.hashes[name] = found.hexdigest()

    def add_path(self, name, path):
        with path.open("rb") as file:
            self.add(name, iter(lambda: file.read(_BYTES), b""))


class _Counted:
    """A file to write from beginning to end, with the hash and the size of what was written."""

    def __init__(self, file):
        self.file, self.hash, self.size = file, hashlib.sha256(), 0

    def write(self, piece):
        self.hash.update(piece)
        self.size += len(piece)
        return self.file.write(piece)

    def flush(self):
        self.file.flush()
