from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from plantings import choices
from plantings.calc.census.codes import REMOVED
from plantings.calc.census.measurements import FLOWERS, MEASUREMENTS
from plantings.models.blind import BlindRows
from plantings.models.measured_columns import measured_column, range_constraint
from plantings.models.protocols import Protocol
from plantings.models.reviewed import CurrentQuerySet, ReviewedQuerySet
from plantings.models.sites import Planting
from plantings.models.trees import CountedPlot, PlantingEntry, Tree
from plantings.models.withdrawn import in_planting, place_words
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.calc.shared.screen import day_words
from registry.models.append_only import AppendOnly
from registry.models.shared.check_constraints import CheckConstraint
from registry.models.shared.part_date_field import PartDateField


class CensusRound(models.Model):
    """One yearly visit to a planting. Age is counted in growing seasons completed. Without a planting it was withdrawn with its load."""

    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, null=True, related_name="rounds")
    label = models.CharField("season label", max_length=40)
    growing_seasons = models.PositiveSmallIntegerField("growing seasons completed")
    opens_on = models.DateField()
    closes_on = models.DateField()
    protocol = models.ForeignKey(Protocol, on_delete=models.PROTECT, null=True, blank=True, related_name="rounds")
    protocol_version = models.CharField(max_length=40, blank=True)  # in words: of the protocol, or as a round without one came

    SCOPE = READERS | {roles.LANDOWNER: "planting__site__partner", roles.VOLUNTEER: "planting__crew"}
    objects = in_planting(ScopedQuerySet)

    class Meta:
        ordering = ["planting", "opens_on"]
        constraints = [
            models.UniqueConstraint(fields=["planting", "label"], name="censusround_label_once"),
            models.UniqueConstraint(fields=["planting", "opens_on"], name="censusround_opens_once"),
            CheckConstraint(
                condition=Q(closes_on__gte=F("opens_on")),
                name="censusround_closes_after_opening",
                violation_error_message="The window closes before it opens.",
            ),
        ]

    def __str__(self):
        return place_words(self, " ", self.label)

    def clean(self):
        """A later round of a planting has at least the growing seasons of an earlier one."""
        if None in (self.planting_id, self.opens_on, self.growing_seasons):
            return
        others = CensusRound.objects.filter(planting=self.planting_id).exclude(pk=self.pk)
        earlier = others.filter(opens_on__lt=self.opens_on, growing_seasons__gt=self.growing_seasons).order_by("opens_on").last()
        if earlier:
            raise ValidationError({"growing_seasons": self._out_of_step("fewer", "before", earlier)})
        later = others.filter(opens_on__gt=self.opens_on, growing_seasons__lt=self.growing_seasons).order_by("opens_on").first()
        if later:
            raise ValidationError({"growing_seasons": self._out_of_step("more", "after", later)})

    def _out_of_step(self, more_or_fewer, side, other):
        return (
            f"{self.growing_seasons} is {more_or_fewer} than the {other.growing_seasons} of round “{other.label}”, which opens {side} "
            f"it, on {day_words(other.opens_on)}. Check the growing seasons and the dates of both."
        )


class ObservationQuerySet(BlindRows, ReviewedQuerySet):
    tree_path = "tree"
    reviews, reviewed, planted = "Review", "observation", "tree"

    def in_flower(self):
        """The records that saw flowers or fruit on a tree."""
        return self.exclude(**{f"{FLOWERS.field}__in": (FLOWERS.blank, FLOWERS.nothing)})


class PlotCountQuerySet(ReviewedQuerySet):
    """`counting()` leaves out plots of an unknown number planted, so no figure can be made from them; `over_time()` has them too."""

    reviews, reviewed, planted = "CountReview", "count", "plot"

    def eligible(self):
        return super().eligible().filter(plot__planted_count__isnull=False)

    def over_time(self):
        """Counts to be shown plot by plot: as `counting()`, and those of plots that nobody knows the number planted of."""
        return super().eligible().unsuperseded()


class RecordFields(AppendOnly):
    """What every census record carries, on a tree or on a counted plot."""

    uuid = models.UUIDField(unique=True, editable=False)
    observed_on = PartDateField()
    observer = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True)
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    received_at = models.DateTimeField()
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why the earlier record is corrected", max_length=200, blank=True)

    objects = CurrentQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints = [
            CheckConstraint(
                condition=Q(supersedes__isnull=True) | ~Q(reason=""),
                name="%(class)s_correction_has_reason",
                violation_error_message="Say why the earlier record is corrected.",
            ),
        ]


class Observation(RecordFields):
    """What one crew saw at one expected position at one visit. The columns of measurements are added from their table, below."""

    # no index of its own: the one of round and tree begins with the round
    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="observations", db_index=False)
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="observations")
    status = models.CharField(max_length=2, choices=choices.census_statuses)
    cause = models.CharField(max_length=20, choices=choices.causes, blank=True)
    arrived_as = models.CharField(max_length=8, choices=choices.arrivals, blank=True)
    own_values = models.JSONField("values of the programme's own measurements", default=dict, blank=True)  # {field: value}

    objects = ObservationQuerySet.as_manager()
    SCOPE = READERS | {roles.LANDOWNER: "tree__planting__site__partner", roles.VOLUNTEER: "tree__planting__crew"}

    class Meta(RecordFields.Meta):
        abstract = False
        ordering = ["tree", "observed_on", "id"]
        indexes = [models.Index(fields=["round", "tree"])]
        constraints = [
            *RecordFields.Meta.constraints,
            CheckConstraint(condition=~Q(status=REMOVED) | ~Q(cause=""), name="observation_removal_has_reason"),
            *(range_constraint(item) for item in MEASUREMENTS if item.limit_in_database and not item.classes),
        ]

    def __str__(self):
        return f"{self.tree} {self.status} on {self.observed_on}"


for _measurement in MEASUREMENTS:
    Observation.add_to_class(_measurement.field, measured_column(_measurement))


class PlotCount(RecordFields):
    """What one crew counted on one counted plot at one visit."""

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="plot_counts")
    plot = models.ForeignKey(CountedPlot, on_delete=models.PROTECT, related_name="counts")
    alive = models.PositiveIntegerField()
    dead = models.PositiveIntegerField(default=0)
    arrived_as = models.CharField(max_length=8, choices=choices.arrivals, blank=True)

    objects = PlotCountQuerySet.as_manager()
    SCOPE = READERS | {roles.LANDOWNER: "plot__planting__site__partner", roles.VOLUNTEER: "plot__planting__crew"}

    class Meta(RecordFields.Meta):
        abstract = False
        ordering = ["plot", "observed_on", "id"]

    def __str__(self):
        return f"{self.plot} {self.alive} alive on {self.observed_on}"


class SurvivalTally(models.Model):
    """Counts of one entry at one round, brought up to date with every write that touches it; `recount` proves them."""

    round = models.ForeignKey(CensusRound, on_delete=models.CASCADE, related_name="tallies")
    entry = models.ForeignKey(PlantingEntry, on_delete=models.CASCADE, related_name="tallies")
    planted = models.PositiveIntegerField(default=0)
    alive = models.PositiveIntegerField(default=0)
    resprout = models.PositiveIntegerField(default=0)
    dead = models.PositiveIntegerField(default=0)
    presumed_dead = models.PositiveIntegerField(default=0)
    not_found = models.PositiveIntegerField(default=0)
    unclear = models.PositiveIntegerField(default=0)
    not_located = models.PositiveIntegerField(default=0)
    not_visited = models.PositiveIntegerField(default=0)
    removed = models.PositiveIntegerField(default=0)
    removed_excluded = models.PositiveIntegerField(default=0)
    alive_then = models.PositiveIntegerField(default=0)
    assessed_then = models.PositiveIntegerField(default=0)
    canker_assessed = models.PositiveIntegerField(default=0)
    cankered = models.PositiveIntegerField(default=0)

    SCOPE = READERS | {roles.LANDOWNER: "entry__planting__site__partner", roles.VOLUNTEER: "entry__planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "survival tallies"
        constraints = [
            models.UniqueConstraint(fields=["round", "entry"], name="survivaltally_once"),
            CheckConstraint(
                condition=Q(
                    planted=F("alive")
                    + F("dead")
                    + F("presumed_dead")
                    + F("not_found")
                    + F("unclear")
                    + F("not_located")
                    + F("not_visited")
                    + F("removed")
                    + F("removed_excluded")
                ),
                name="survivaltally_every_tree_once",
            ),
        ]

    def __str__(self):
        return f"{self.round} {self.entry}"


class RoundProgress(models.Model):
    """How far a round is, for its planted trees or its sown seed; stored with the tallies, proved by `recount`.

    `edition` is that of the definitions the tallies of the round were counted by.
    """

    round = models.ForeignKey(CensusRound, on_delete=models.CASCADE, related_name="progress")
    sown = models.BooleanField()
    countable = models.PositiveIntegerField()
    assessed = models.PositiveIntegerField()
    unsettled = models.PositiveIntegerField()
    ended = models.PositiveIntegerField()
    edition = models.PositiveSmallIntegerField()

    SCOPE = READERS | {roles.LANDOWNER: "round__planting__site__partner", roles.VOLUNTEER: "round__planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "progress of rounds"
        constraints = [models.UniqueConstraint(fields=["round", "sown"], name="roundprogress_once")]

    def __str__(self):
        return f"{self.round} {self.assessed} of {self.countable}"


class CauseTally(models.Model):
    """Trees of one entry that a record says are dead or removed at one round, by its cause; stored with the tallies."""

    round = models.ForeignKey(CensusRound, on_delete=models.CASCADE, related_name="cause_tallies")
    entry = models.ForeignKey(PlantingEntry, on_delete=models.CASCADE, related_name="cause_tallies")
    cause = models.CharField(max_length=20, blank=True)
    trees = models.PositiveIntegerField()

    SCOPE = READERS | {roles.LANDOWNER: "entry__planting__site__partner", roles.VOLUNTEER: "entry__planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "tallies of causes"
        constraints = [models.UniqueConstraint(fields=["round", "entry", "cause"], name="causetally_once")]

    def __str__(self):
        return f"{self.round} {self.entry} {self.cause}"
