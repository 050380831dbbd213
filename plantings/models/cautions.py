"""Who said before a round that they had read its cautions, and in which wording."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from plantings.models.census import CensusRound
from plantings.models.round_links import RoundLink
from registry.access import roles
from registry.access.scoping import READERS
from registry.models.append_only import AppendOnly
from registry.models.shared.check_constraints import CheckConstraint


class CautionsRead(AppendOnly):
    """That somebody confirmed on a phone that they had read the cautions of a round; stored once for a person, round and wording.

    `name` is who read them: somebody with an account, or whoever gave this name on a `link`. `wording` is the SHA-256 of the lines they
    were shown, in `language` (blank on records from before it was stored, whose sum is that of the English lines); `versions` names those
    of the programme's own cautions among them.
    """

    uuid = models.UUIDField(unique=True, editable=False)
    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="cautions_read")
    name = models.CharField(max_length=120)
    link = models.ForeignKey(RoundLink, on_delete=models.PROTECT, null=True, blank=True, related_name="cautions_read")
    wording = models.CharField(max_length=64)
    language = models.CharField("language of the page they read", max_length=7, blank=True)
    versions = models.JSONField(default=list, blank=True)
    read_at = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()

    SCOPE = READERS | {roles.VOLUNTEER: "entered_by"}

    class Meta:
        ordering = ["read_at", "id"]
        verbose_name_plural = "cautions read"
        constraints = [
            models.UniqueConstraint(fields=["round", "wording", "entered_by", "name"], name="cautionsread_once"),
            CheckConstraint(condition=~Q(name=""), name="cautionsread_has_name"),
        ]

    def __str__(self):
        return f"{self.name} before {self.round}"
