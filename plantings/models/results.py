"""Results that were given out: of a round, so that a record that arrives later is marked on them, and reports, which are frozen."""

from django.db import models

from plantings.models.census import CensusRound
from registry.access.scoping import READERS
from registry.models import IssuedPrint, StoredFile
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint


class RoundResult(AppendOnly, Entered):
    """A printed result of a round: the newest record and the newest review when it was drawn, 0 for none; the same of counts of plots,
    which results from before those have not."""

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="results")
    issued = models.OneToOneField(IssuedPrint, on_delete=models.PROTECT, related_name="round_result")
    newest_record = models.PositiveBigIntegerField()
    newest_review = models.PositiveBigIntegerField()
    newest_count = models.PositiveBigIntegerField(null=True, blank=True)
    newest_count_review = models.PositiveBigIntegerField(null=True, blank=True)

    SCOPE = READERS

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"result of {self.round}"


class IssuedReport(AppendOnly, Entered):
    """A survival report as it was issued: its frozen content as canonical JSON, what it rests on by its hash, and the PDF.

    `content` has the document that was printed, the figures of its tables, the rounds it rests on, and the newest records then.
    `audit_entries` and `audit_sha256` are the head of the audit trail when it was drawn.
    """

    number = models.CharField(max_length=20, unique=True)
    year = models.PositiveSmallIntegerField()
    level = models.CharField("lineage taken as", max_length=20)
    moment = models.CharField("census shown", max_length=20)
    content = models.TextField()
    content_sha256 = models.CharField(max_length=64)
    rests_sha256 = models.CharField("SHA-256 of what it rests on", max_length=64)
    audit_entries = models.PositiveBigIntegerField()
    audit_sha256 = models.CharField(max_length=64, blank=True)
    pdf = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="issued_reports")
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it replaces the earlier report", max_length=200, blank=True)

    SCOPE = READERS

    class Meta:
        ordering = ["-entered_at", "-id"]
        constraints = [
            CheckConstraint(
                condition=models.Q(supersedes__isnull=True) | ~models.Q(reason=""),
                name="issuedreport_replaces_with_reason",
                violation_error_message="Say why this report replaces the earlier one.",
            )
        ]

    def __str__(self):
        return f"survival report {self.number}"
