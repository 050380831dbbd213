"""Seedlings that came up by themselves: noted at a round, apart from the planted trees, and never counted with them."""

from django.db import models
from django.db.models import Q

from plantings.models.census import CensusRound, RecordFields
from registry.access import roles
from registry.access.scoping import READERS
from registry.models.shared.check_constraints import CheckConstraint


class SelfSown(RecordFields):
    """Self-sown seedlings at one place of a planting at one visit; the number where somebody counted them."""

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="self_sown")
    place = models.CharField(max_length=120)
    seedlings = models.PositiveIntegerField(null=True, blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "round__planting__site__partner", roles.VOLUNTEER: "round__planting__crew"}

    class Meta(RecordFields.Meta):
        abstract = False
        ordering = ["round", "place", "id"]
        verbose_name_plural = "self-sown seedlings"
        constraints = [
            *RecordFields.Meta.constraints,
            CheckConstraint(condition=~Q(place=""), name="selfsown_has_place", violation_error_message="Say where the seedlings are."),
        ]

    def __str__(self):
        return f"self-sown seedlings at {self.place}, {self.round}"
