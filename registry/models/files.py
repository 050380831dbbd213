from django.db import models

from registry.models.append_only import AppendOnly
from registry.models.entered import Entered


class StoredFile(AppendOnly, Entered):
    """A file stored by the SHA-256 of its content: the same content is stored once, and a changed file shows."""

    sha256 = models.CharField(max_length=64, unique=True)
    size_bytes = models.PositiveIntegerField()
    content_type = models.CharField(max_length=80)
    filename = models.CharField("name it came with", max_length=160)

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return self.filename
