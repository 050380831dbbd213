"""Results of a round that were given out, so that a record that arrives later is marked on them."""

from django.db import models

from plantings.models.census import CensusRound
from registry.access.scoping import READERS
from registry.models import IssuedPrint
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered


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
