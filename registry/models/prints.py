"""Prints that were made: of what and by whom, so that their receivers can be told when one was wrong."""

from django.db import models

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.lots import Lot
from registry.models.movements import Shipment
from registry.models.pedigree import PedigreeTree
from registry.models.permits import Authorization


class IssuedPrint(AppendOnly, Entered):
    """A print that was made. `sha256` is of the file as it was downloaded; the file itself is not stored."""

    kind = models.CharField(max_length=14, choices=choices.issued_kinds)
    title = models.CharField(max_length=160)
    filename = models.CharField(max_length=160)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    lots = models.ManyToManyField(Lot, blank=True, related_name="issued_prints")
    shipments = models.ManyToManyField(Shipment, blank=True, related_name="issued_prints")
    trees = models.ManyToManyField(PedigreeTree, blank=True, related_name="issued_prints")
    authorizations = models.ManyToManyField(Authorization, blank=True, related_name="issued_prints")

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return self.title


class ProgrammeSetting(models.Model):
    """A threshold the programme sets for itself, with who set it, when, and on what basis."""

    key = models.CharField(max_length=40, unique=True, choices=choices.programme_settings)
    value = models.CharField(max_length=200)
    owner = models.CharField("who set it", max_length=80)
    set_on = models.DateField()
    basis = models.CharField("basis", max_length=200, blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["key"]

    def __str__(self):
        return self.get_key_display()
