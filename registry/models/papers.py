from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet


class Authorization(models.Model):
    """One shape for permit, certificate, licence, notification, consent, agreement, and "none is needed"."""

    code = models.CharField("our reference", max_length=40, unique=True)
    type = models.CharField(max_length=12, choices=choices.authorization_types)
    title = models.CharField(max_length=160)
    issuer = models.CharField(max_length=160)
    issuer_reference = models.CharField("issuer's reference", max_length=80, blank=True)
    holder_body = models.CharField(max_length=160, blank=True)
    holder_person = models.CharField(max_length=120, blank=True)
    covers = models.TextField("what it covers, as written")
    conditions = models.TextField("conditions, as written", blank=True)
    cap_quantity = models.PositiveIntegerField(null=True, blank=True)
    cap_unit = models.CharField(max_length=20, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=choices.authorization_states, default=choices.AuthorizationState.DRAFT)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts_on__isnull=True) | Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="authorization_ends_after_start",
                violation_error_message="The end date lies before the start date.",
            ),
            models.CheckConstraint(
                condition=Q(cap_quantity__isnull=True) | ~Q(cap_unit=""),
                name="authorization_cap_has_unit",
                violation_error_message="A quantity cap needs its unit (seeds or plants).",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"
