"""The audit trail, and the names that record types have in it."""

from datetime import UTC

from django.conf import settings
from django.db import models

from registry.access import roles
from registry.access.scoping import ALL, STAFF, ScopedQuerySet
from registry.calc.shared.iso import iso_day
from registry.calc.shared.screen import amount_words
from registry.models.append_only import AppendOnly
from registry.models.shared.check_constraints import UniqueConstraint


class AuditEntry(AppendOnly):
    """Who did what to which record, when, and why.

    Each entry carries the hash of the one before it, so that a change, a gap or a swap shows (`verify`).
    """

    actor = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    verb = models.CharField(max_length=60)
    record_type = models.CharField(max_length=40)
    record_id = models.BigIntegerField()
    record_label = models.CharField(max_length=120)
    changes = models.JSONField(default=dict)
    reason = models.TextField(blank=True)
    previous_sha256 = models.CharField(max_length=64, blank=True, default="", editable=False)
    sha256 = models.CharField(max_length=64, blank=True, default="", editable=False)

    SCOPE = STAFF | {roles.AUDITOR: ALL}

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["record_type", "record_id"])]
        verbose_name_plural = "audit entries"
        constraints = [
            UniqueConstraint(fields=["previous_sha256"], condition=~models.Q(previous_sha256=""), name="auditentry_chain_does_not_fork"),
        ]

    def __str__(self):
        return f"{iso_day(self.at)} {self.actor} {self.verb} {self.record_label}"

    @property
    def content(self):
        """What its hash is made of: everything it says, as JSON values."""
        return {
            "actor": self.actor_id,
            "at": self.at.astimezone(UTC).isoformat(timespec="microseconds"),
            "verb": self.verb,
            "record_type": self.record_type,
            "record_id": self.record_id,
            "record_label": self.record_label,
            "changes": self.changes,
            "reason": self.reason,
        }


class AuditHead(models.Model):
    """The end of the chain: how many entries it has and the hash of the last. Writers wait for each other at its row lock."""

    entries = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)

    SCOPE = {}
    objects = ScopedQuerySet.as_manager()

    def __str__(self):
        return amount_words(self.entries, "entries")


# A model may be renamed; what is in the chain may not. {name of the model: the name under which its first records were stored}
EARLIER = {"issuedprint": "issuedpaper"}
_NOW = {stored: name for name, stored in EARLIER.items()}


def stored_name(model):
    """The name of a record type in the audit trail, such as "lot"; takes a model or a record."""
    return EARLIER.get(model._meta.model_name, model._meta.model_name)


def model_name(stored):
    """The name that a type in the audit trail has in the program of today."""
    return _NOW.get(stored, stored)
