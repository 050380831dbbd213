from django.core.exceptions import ValidationError
from django.db import models

from registry import choices
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.compliance.shared.counties import county_fault


class Partner(models.Model):
    """Somebody outside the programme: landowner, nursery, agency, school."""

    code = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=choices.partner_kinds)
    contact_name = models.CharField(max_length=120, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField(blank=True)
    region = models.CharField("country or subdivision (ISO 3166)", max_length=10, blank=True, help_text="Such as US-VT. Rules use it.")
    county = models.CharField(max_length=60, blank=True)
    consent_on = models.DateField("consent to store contacts given on", null=True, blank=True)
    map_privacy = models.CharField(max_length=8, choices=choices.map_privacies, default=choices.MapPrivacy.GENERAL)
    note = models.TextField(blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "pk"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]

    def __str__(self):
        return f"{self.code} {self.name}"

    def clean(self):
        super().clean()
        is_new = not Partner.objects.filter(pk=self.pk, region=self.region, county=self.county).exists()
        if is_new and (fault := county_fault(self.region, self.county)):
            raise ValidationError({"county": fault})
