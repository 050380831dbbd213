"""A blind second measurement: the drawn sample of a round, its trees, and what the second person recorded there."""

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef, Q

from plantings import choices
from plantings.models.census import CensusRound, CurrentQuerySet, Observation, RecordFields
from plantings.models.trees import Tree
from registry.access import roles
from registry.access.scoping import READERS
from registry.calc.shared.screen import day_words
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint


class SecondDrawQuerySet(AppendOnlyQuerySet):
    def handed_in(self):
        """Draws of which every tree has a second measurement, be it "not visited"."""
        return self.filter(~_waiting())

    def open(self):
        """Draws whose second person has not handed in yet: the first values of their trees stay hidden from them."""
        return self.filter(_waiting())


def _waiting():
    return Exists(SecondTree.objects.filter(draw=OuterRef("pk"), measurements__isnull=True))


class SecondDraw(AppendOnly, Entered):
    """A sample of the recorded trees of a round, for a second person. Anybody can repeat it by `walk_draw` from `candidates`, `size`
    and `seed`."""

    round = models.ForeignKey(CensusRound, on_delete=models.PROTECT, related_name="second_draws")
    number = models.PositiveSmallIntegerField("1 for the first draw of its round, 2 for the next …")
    drawn_on = models.DateField()
    measured_by = models.CharField("who measures again", max_length=120)
    measurer = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="second_draws")
    seed = models.CharField(max_length=64)
    size = models.PositiveIntegerField("number of trees drawn")
    candidates = models.JSONField("tags that could be drawn, in walk order")

    # a volunteer sees the draws they measure; other people of the crew do not see which trees are measured again
    SCOPE = READERS | {roles.VOLUNTEER: "measurer"}
    objects = SecondDrawQuerySet.as_manager()

    class Meta:
        ordering = ["round", "number"]
        constraints = [
            models.UniqueConstraint(fields=["round", "number"], name="seconddraw_number_once"),
            CheckConstraint(condition=Q(size__gt=0), name="seconddraw_draws_trees"),
            CheckConstraint(condition=~Q(measured_by=""), name="seconddraw_has_measurer"),
        ]

    def __str__(self):
        return f"{self.round}, second measurement {self.number}"


class SecondTree(AppendOnly):
    """A drawn tree, and its record on the day of the draw: later corrections of that record do not change the comparison."""

    draw = models.ForeignKey(SecondDraw, on_delete=models.PROTECT, related_name="trees")
    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="second_trees")
    first = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="second_trees")

    SCOPE = READERS | {roles.VOLUNTEER: "draw__measurer"}

    class Meta:
        ordering = ["draw", "id"]
        constraints = [models.UniqueConstraint(fields=["draw", "tree"], name="secondtree_once")]

    def __str__(self):
        return f"{self.tree} of {self.draw}"


class SecondMeasurement(RecordFields):
    """What the second person recorded at a drawn tree. It is in no tally and no list of census records.

    `values` is {column of a measurement: value} of what the round asked for and was measured.
    """

    drawn = models.ForeignKey(SecondTree, on_delete=models.PROTECT, related_name="measurements")
    number = models.PositiveSmallIntegerField("1 for the first record of its tree, 2 for its correction …", default=1)
    status = models.CharField(max_length=2, choices=choices.census_statuses)
    cause = models.CharField(max_length=20, choices=choices.causes, blank=True)
    values = models.JSONField(default=dict, blank=True)

    SCOPE = READERS | {roles.VOLUNTEER: "drawn__draw__measurer"}
    objects = CurrentQuerySet.as_manager()

    class Meta(RecordFields.Meta):
        abstract = False
        ordering = ["drawn", "id"]
        constraints = [
            *RecordFields.Meta.constraints,
            models.UniqueConstraint(fields=["drawn", "number"], name="secondmeasurement_number_once"),
            CheckConstraint(
                condition=Q(number=1, supersedes__isnull=True) | Q(number__gt=1, supersedes__isnull=False),
                name="secondmeasurement_follows_the_last",
            ),
        ]

    def __str__(self):
        return f"{self.drawn.tree} {self.status} on {day_words(self.observed_on)}, measured again"
