from django.conf import settings
from django.db import models

from plantings.models.census import CensusRound
from registry.access.scoping import STAFF
from registry.models.entered import Entered


class RoundLink(Entered):
    """A revocable link to record one round without an account. It acts for whoever made it; only a hash of it is stored.

    `opened` counts how often a phone fetched the round by it, `stored` the records that came by it. The last two fields limit how many
    requests it may make in a minute.
    """

    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")  # never blank: it acts for them
    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    for_whom = models.CharField("for whom", max_length=120)
    ends_on = models.DateField("last day")
    shows_place = models.BooleanField("shows the exact place and the way in", default=False)
    revoked_at = models.DateTimeField(null=True, blank=True)
    opened = models.PositiveIntegerField(default=0, editable=False)
    stored = models.PositiveIntegerField(default=0, editable=False)
    minute_began_at = models.DateTimeField(null=True, blank=True, editable=False)
    minute_requests = models.PositiveIntegerField(default=0, editable=False)

    SCOPE = STAFF

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"link to {self.round} for {self.for_whom}"
