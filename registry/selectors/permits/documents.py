"""Reads stored files and checks that they are unchanged."""

import hashlib

from django.core.files.storage import default_storage

__all__ = ["file_content", "file_fault", "stored_path"]


def stored_path(sha256):
    """The path of the file with a hash: spread over folders, since some file systems slow down in one large one."""
    return f"kept/{sha256[:2]}/{sha256}"


def file_content(stored):
    """The bytes of a stored file. Raises `FileNotFoundError` when it is gone."""
    with default_storage.open(stored_path(stored.sha256)) as file:
        return file.read()


def file_fault(stored):
    """What is wrong with a stored file: "" when it is there and unchanged."""
    try:
        content = file_content(stored)
    except FileNotFoundError:
        return "the file is gone"
    return "" if hashlib.sha256(content).hexdigest() == stored.sha256 else "its content was changed"
