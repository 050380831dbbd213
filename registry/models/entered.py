from django.conf import settings
from django.db import models

from registry.access.scoping import READERS, ScopedQuerySet


class Entered(models.Model):
    """Who entered a record, and when; a correction is a new record that supersedes the old."""

    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    entered_at = models.DateTimeField()

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        abstract = True
