"""Reads stored files and checks that they are unchanged."""

import hashlib

from django.core.files.storage import default_storage

__all__ = ["content_fault", "file_content", "file_fault", "stored_path"]

_BYTES = 1 << 20


def stored_path(sha256):
    """The path of the file with a hash: spread over folders, since some file systems slow down in one large one."""
    return f"kept/{sha256[:2]}/{sha256}"


def file_content(stored):
    """The bytes of a stored file. Raises `FileNotFoundError` when it is gone."""
    with default_storage.open(stored_path(stored.sha256)) as file:
        return file.read()


def file_fault(stored):
    """What is wrong with a stored file: "" when it is there and unchanged."""
    return content_fault(stored_path(stored.sha256), stored.sha256)


def content_fault(path, sha256):
    """What is wrong with the file of a path: "" when it is there and its content has the hash ("" for any content)."""
    found = hashlib.sha256()
    try:
        with default_storage.open(path) as file:
            for piece in file.chunks(_BYTES):
                found.update(piece)
    except FileNotFoundError:
        return "the file is gone"
    except OSError as error:
        return f"the file cannot be read ({error.strerror})"
    return "its content was changed" if sha256 and found.hexdigest() != sha256 else ""
