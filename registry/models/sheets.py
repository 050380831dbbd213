import uuid

from django.conf import settings
from django.db import models

from registry.access.scoping import OFFICE, ScopedQuerySet


class ColumnMapping(models.Model):
    """How a user's own headers become ours; made once and saved by name."""

    kind = models.CharField(max_length=30)
    name = models.CharField(max_length=60)
    spec = models.JSONField(default=dict, blank=True)

    SCOPE = OFFICE
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["kind", "name"]
        constraints = [models.UniqueConstraint(fields=["kind", "name"], name="columnmapping_name_once")]

    def __str__(self):
        return self.name


class SheetUpload(models.Model):
    """An uploaded file, stored as it came, with what was saved from it."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(max_length=30)
    filename = models.CharField(max_length=200)
    file = models.FileField(upload_to="sheets/%Y/")
    sha256 = models.CharField(max_length=64)
    spec = models.JSONField(default=dict, blank=True)
    uploaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    uploaded_at = models.DateTimeField()
    loaded_at = models.DateTimeField(null=True, blank=True)
    outcome = models.JSONField(default=dict, blank=True)

    SCOPE = OFFICE
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-uploaded_at"]

    def __str__(self):
        return self.filename

    @property
    def preview_route(self):
        """The name of the page that shows what saving it would do."""
        return "combined_preview" if self.kind == "combined" else "sheet_preview"
