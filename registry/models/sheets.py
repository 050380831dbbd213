import uuid
from functools import reduce

from django.conf import settings
from django.db import models
from django.db.models import Q

from registry.access.scoping import OFFICE, ScopedQuerySet
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint

# the columns of `WithdrawnRow`, one for each record type
WITHDRAWN_ROWS = ("rating", "decision", "status_step", "measured_share", "evidence", "seed_test", "treatment", "storage_record", "harvest")


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


class Load(AppendOnly, Entered):
    """A sheet that was loaded: from which file, by which mapping, what it stored and which rows it set aside.

    `stored` is {record type as the audit trail names it: [[first key, last key], ...]} of the records that were made; `before` says of each
    record that was changed what its cells were, [[key, {column: cell}], ...]; `aside` is [[row of the file, what to correct], ...].
    Of a sheet of several kinds, `counts` and `before` are such values by kind.
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
    def before_by_kind(self):
        """{kind of sheet: `before` of its records}; empty where it changed none."""
        by_kind = self.before if isinstance(self.before, dict) else {self.kind: self.before}
        return {kind: lines for kind, lines in by_kind.items() if lines}

    @property
    def counts_by_kind(self):
        """{kind of sheet: what its rows came to}."""
        return self.counts if self.kind == "combined" else {self.kind: self.counts}

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


def _target(model):
    return models.OneToOneField(f"registry.{model}", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal")


def _only(name):
    return Q(**{f"{column}__isnull": column != name for column in WITHDRAWN_ROWS})


class WithdrawnRow(AppendOnly, Entered):
    """A rating, decision, status step, measured share, piece of evidence, seed test, treatment, storage check or picking that a withdrawn
    load had brought in: it counts nowhere. What it says stays in its own row."""

    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="withdrawn_rows")
    rating = _target("Rating")
    decision = _target("SelectionDecision")
    status_step = _target("TreeStatusRecord")
    measured_share = _target("MeasuredShare")
    evidence = _target("IdentityEvidence")
    seed_test = _target("SeedTest")
    treatment = _target("Treatment")
    storage_record = _target("StorageRecord")
    harvest = _target("Harvest")
    reason = models.CharField(max_length=200)

    SCOPE = OFFICE

    class Meta:
        ordering = ["id"]
        constraints = [CheckConstraint(condition=reduce(Q.__or__, map(_only, WITHDRAWN_ROWS)), name="withdrawnrow_of_one")]

    def __str__(self):
        return f"{self.record} (withdrawn)"

    @property
    def record(self):
        """The record that was withdrawn."""
        return next(found for name in WITHDRAWN_ROWS if (found := getattr(self, name)) is not None)

    @classmethod
    def column_of(cls, model):
        """The name of the column for records of a type."""
        return next(name for name in WITHDRAWN_ROWS if cls._meta.get_field(name).related_model is model)
