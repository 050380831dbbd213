"""A ZIP of files with a manifest that `sha256sum -c` checks. Files are written piece by piece, none is held in memory."""

import datetime
import hashlib
import re
import zipfile
from collections.abc import Iterable

MANIFEST = "MANIFEST.txt"
_NAME_MAX = 120


def portable_name(name: str) -> str:
    """A file name any file system and `sha256sum` take: letters, digits, dots, hyphens and low lines.

    Examples
    --------
    >>> portable_name("Permit 12/2026 – scan.pdf"), portable_name("...")
    ('Permit-12-2026-scan.pdf', 'file')
    """
    return _portable_within(name, _NAME_MAX)


def numbered_name(number: int, name: str) -> str:
    """A plain file name that begins with a number, so that two files can have one name; a long name loses its beginning.

    Examples
    --------
    >>> numbered_name(7, "Permit 12/2026 – scan.pdf"), len(numbered_name(7, "x" * 200 + ".pdf"))
    ('007-Permit-12-2026-scan.pdf', 120)
    """
    before = f"{number:03d}-"
    return before + _portable_within(name, _NAME_MAX - len(before))


def _portable_within(name, most):
    plain = re.sub(r"[^\w.]+", "-", name, flags=re.ASCII).strip("-.")
    return plain[-most:].lstrip("-.") or "file"


class Bundle:
    """A ZIP being written to a binary file.

    Parameters
    ----------
    target : binary file
    folder : str
        The folder in the ZIP that everything lies in.
    made_at : datetime
        The date all files carry; never the clock's.
    """

    def __init__(self, target, folder: str, made_at: datetime.datetime):
        self._zip = zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED)
        self._folder = portable_name(folder)
        self._date = made_at.timetuple()[:6]
        self._hashes: dict[str, str] = {}

    def add(self, name: str, pieces: Iterable[bytes]) -> str:
        """Write a file and return its SHA-256.

        Raises
        ------
        ValueError
            When the name is taken or is not plain.
        """
        if name in self._hashes or name == MANIFEST or any(portable_name(part) != part for part in name.split("/")):
            raise ValueError(f"“{name}” is not a new plain file name.")
        digest = hashlib.sha256()
        with self._zip.open(self._info(name), "w") as file:
            for piece in pieces:
                digest.update(piece)
                file.write(piece)
        self._hashes[name] = digest.hexdigest()
        return self._hashes[name]

    def close(self, lines: Iterable[str]) -> None:
        """Write the manifest, with these lines as comments at its head, and finish the ZIP."""
        head = [f"# {' '.join(line.split())}" for line in lines]
        text = "\n".join([*head, *(f"{sha256}  {name}" for name, sha256 in self._hashes.items()), ""])
        self._zip.writestr(self._info(MANIFEST), text.encode())
        self._zip.close()

    def _info(self, name):
        info = zipfile.ZipInfo(f"{self._folder}/{name}", self._date)
        info.compress_type = zipfile.ZIP_DEFLATED
        info.external_attr = 0o644 << 16
        return info
