from django.conf import settings
from django.db import models

from registry.access import roles
from registry.access.scoping import ALL, ScopedQuerySet


class AuditEntry(models.Model):
    """Who did what to which record, when, and why. Append-only: the database refuses changes."""

    actor = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    verb = models.CharField(max_length=60)
    record_type = models.CharField(max_length=40)
    record_id = models.BigIntegerField()
    record_label = models.CharField(max_length=120)
    changes = models.JSONField(default=dict)
    reason = models.TextField(blank=True)

    SCOPE = {roles.LEAD: ALL, roles.COORDINATOR: ALL, roles.AUDITOR: ALL}
    objects = ScopedQuerySet.as_manager()

    APPEND_ONLY = True  # held by the database

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["record_type", "record_id"])]
        verbose_name_plural = "audit entries"

    def __str__(self):
        return f"{self.at:%Y-%m-%d} {self.actor} {self.verb} {self.record_label}"
