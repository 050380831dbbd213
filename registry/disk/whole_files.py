"""Files that are complete or absent, however the program ends. Standard library only: the settings use it too."""

import contextlib
import errno
import os
import re
import secrets
import time
from pathlib import Path

__all__ = ["PART", "full_or_read_only", "remove_abandoned", "unfinished", "whole_file", "write_whole"]

PART = ".part"  # ends the temporary name of a file that is still being written
_TEMPORARY = re.compile(r"\..+\.[0-9a-f]{16}\.part")
_A_DAY = 24 * 3600  # seconds
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_READ_ONLY = {errno.EROFS, errno.EACCES, errno.EPERM}


def write_whole(path, chunks, *, mode=0o644, replace=True):
    """Write a file from its pieces, as `whole_file` does."""
    with whole_file(path, mode=mode, replace=replace) as file:
        for chunk in chunks:
            file.write(chunk)


@contextlib.contextmanager
def whole_file(path, *, mode=0o644, replace=True):
    """A file to write under a temporary name in its folder; at the end it is forced to the disk and then given its name.

    Without `replace`, a file that has the name already stays as it is. An error, such as `OSError` of a full disk, removes the
    temporary file. A program that is killed may leave its temporary file, never half a file under the name.
    """
    path = Path(path)
    _make_folder(path.parent)
    part = path.with_name(f".{path.name}.{secrets.token_hex(8)}{PART}")
    try:
        with open(part, "xb", opener=lambda name, flags: os.open(name, flags, mode)) as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        if replace:
            os.replace(part, path)
        else:
            _give_free_name(part, path)
        _sync_folder(path.parent)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)


def _give_free_name(part, path):
    try:
        os.link(part, path)  # refuses a name that is taken, which no rename does
    except FileExistsError:
        pass
    except OSError:
        if not path.exists():  # a file system without hard links
            os.replace(part, path)


def _make_folder(folder):
    """Make a folder and those above it; each name is on the disk before anything is stored below it."""
    if folder.is_dir():
        return
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _sync_folder(folder.parent)


def _sync_folder(folder):
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def unfinished(folder, below=True):
    """Temporary files in a folder (and below), left by a program that was stopped, or still being written."""
    found = Path(folder).rglob if below else Path(folder).glob
    return sorted(path for path in found(f".*{PART}") if _TEMPORARY.fullmatch(path.name))


def remove_abandoned(folder, below=True):
    """Delete the temporary files in a folder (and below) that are older than a day: nothing is written for as long. Returns how many."""
    old = [path for path in unfinished(folder, below) if time.time() - path.stat().st_mtime > _A_DAY]
    for path in old:
        path.unlink(missing_ok=True)
    return len(old)


def full_or_read_only(error):
    """Why the disk takes nothing, in words, or "" for another error."""
    if error.errno in _FULL:
        return "the disk of the server is full"
    return "Mastbook may not write into its data folder" if error.errno in _READ_ONLY else ""
