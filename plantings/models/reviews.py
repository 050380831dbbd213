"""What people decided about census records and counts of plots that came in, and how many wait for it."""

from django.db import models
from django.db.models import Q

from plantings import choices
from plantings.choices import ReviewState
from plantings.models.blind import BlindRows
from plantings.models.census import CensusRound, Observation, PlotCount
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint


class StandingQuerySet(AppendOnlyQuerySet):
    def standing(self):
        """The last review of each record."""
        return self.filter(superseded_by__isnull=True)


class ReviewQuerySet(BlindRows, StandingQuerySet):
    tree_path = "observation__tree"


class ReviewFields(AppendOnly, Entered):
    """What a person decided about a record that came in. The record stays as it came; a later decision supersedes this one."""

    number = models.PositiveSmallIntegerField("1 for its first review, 2 for the next …")
    state = models.CharField(max_length=10, choices=choices.review_states)
    reason = models.CharField("why it was asked back or rejected", max_length=200, blank=True)
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")

    class Meta:
        abstract = True
        constraints = [
            CheckConstraint(
                condition=Q(number=1, supersedes__isnull=True) | Q(number__gt=1, supersedes__isnull=False),
                name="%(class)s_follows_the_last",
            ),
            CheckConstraint(condition=Q(state=ReviewState.ACCEPTED) | ~Q(reason=""), name="%(class)s_has_reason"),
        ]


class Review(ReviewFields):
    """A review of an observation."""

    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="reviews")

    SCOPE = READERS | {roles.LANDOWNER: "observation__tree__planting__site__partner", roles.VOLUNTEER: "observation__tree__planting__crew"}
    objects = ReviewQuerySet.as_manager()

    class Meta:
        ordering = ["observation", "id"]
        constraints = [
            *ReviewFields.Meta.constraints,
            models.UniqueConstraint(fields=["observation", "number"], name="review_number_once"),
        ]

    def __str__(self):
        return f"{self.observation} {self.get_state_display()}"


class CountReview(ReviewFields):
    """A review of the count of a plot."""

    count = models.ForeignKey(PlotCount, on_delete=models.PROTECT, related_name="reviews")

    SCOPE = READERS | {roles.LANDOWNER: "count__plot__planting__site__partner", roles.VOLUNTEER: "count__plot__planting__crew"}
    objects = StandingQuerySet.as_manager()

    class Meta:
        ordering = ["count", "id"]
        constraints = [
            *ReviewFields.Meta.constraints,
            models.UniqueConstraint(fields=["count", "number"], name="countreview_number_once"),
        ]

    def __str__(self):
        return f"{self.count} {self.get_state_display()}"


class ReviewTally(models.Model):
    """How many records of a round wait: for somebody to read them, or for an answer of the crew. Stored with every write, proved by
    `recount`. `in_no_figure` of both together are counts of plots whose number planted is unknown."""

    round = models.OneToOneField(CensusRound, on_delete=models.CASCADE, related_name="review_tally")
    unread = models.PositiveIntegerField()
    asked_back = models.PositiveIntegerField()
    in_no_figure = models.PositiveIntegerField(default=0)

    SCOPE = READERS | {roles.LANDOWNER: "round__planting__site__partner", roles.VOLUNTEER: "round__planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "tallies of reviews"

    def __str__(self):
        return f"{self.round} {self.unread} unread"
