"""What a disk refuses, as a message at the box of the file."""

from contextlib import contextmanager

from django.core.exceptions import ValidationError

from registry.disk.whole_files import full_or_read_only

__all__ = ["disk_words"]


@contextmanager
def disk_words(filename):
    """Raises `ValidationError` at the field `file` when a full disk or a folder that takes nothing stops the storing of a file."""
    try:
        yield
    except OSError as error:
        if not (why := full_or_read_only(error)):
            raise
        message = f"{filename} was not saved: {why}. Tell the person who runs Mastbook, then send the file again."
        raise ValidationError({"file": message}) from error
