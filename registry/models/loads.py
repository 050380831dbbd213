from django.db import models

from registry.access.scoping import OFFICE
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.sheets import SheetUpload


class Load(AppendOnly, Entered):
    """A sheet that was loaded: from which file, by which mapping, what it stored and which rows it set aside.

    `stored` is {record type as the audit trail names it: [[first key, last key], ...]} of the records that were made; `before` says of each
    record that was changed what its cells were, [[key, {column: cell}], ...]; `aside` is [[row of the file, what to correct], ...].
    """

    upload = models.ForeignKey(SheetUpload, on_delete=models.PROTECT, related_name="loads")
    kind = models.CharField(max_length=30)
    filename = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    spec = models.JSONField("mapping", default=dict, blank=True)
    reason = models.TextField(blank=True)
    counts = models.JSONField(default=dict, blank=True)
    stored = models.JSONField(default=dict, blank=True)
    before = models.JSONField(default=list, blank=True)
    aside = models.JSONField("rows set aside", default=list, blank=True)
    aside_count = models.PositiveIntegerField("number of rows set aside", default=0)

    SCOPE = OFFICE

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"load {self.pk} of {self.filename}"

    @property
    def withdrawn(self):
        """Its withdrawal, None where there is none."""
        return getattr(self, "withdrawal", None)


class RowsSettled(AppendOnly, Entered):
    """Rows that a load had set aside and that are settled: they came with a later load (`by`), or somebody said why they are left out."""

    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="settled")
    by = models.ForeignKey(Load, on_delete=models.PROTECT, null=True, blank=True, related_name="settles")
    rows = models.JSONField()
    count = models.PositiveIntegerField("number of rows")
    reason = models.TextField(blank=True)

    SCOPE = OFFICE

    class Meta:
        ordering = ["id"]
        verbose_name_plural = "rows settled"

    def __str__(self):
        return f"rows of {self.load}"


class LoadWithdrawal(AppendOnly, Entered):
    """A load that was withdrawn as one: who, when and why. What it had stored was taken back in the same write."""

    load = models.OneToOneField(Load, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.TextField()

    SCOPE = OFFICE

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"withdrawal of {self.load}"
