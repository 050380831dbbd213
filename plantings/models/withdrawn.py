"""Trees, counted plots and rounds of a load that was withdrawn, while census records that are never deleted still name them.

Such a record has left its planting: its column `planting` is blank, and so are the others that led to places and lots. The managers
below leave it out, and nothing that starts at a planting or a lot reaches it. `WithdrawnRecord` says what it was.
"""

from django.db import models
from django.db.models import Q

from plantings import choices
from registry.access.scoping import OFFICE
from registry.models import Load
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint

TARGETS = ("tree", "plot", "round")


class InPlanting(models.Manager):
    """Without those that were withdrawn. Links of census records lead to all of them, by Django's base manager."""

    def get_queryset(self):
        return super().get_queryset().filter(planting__isnull=False)


def in_planting(queryset):
    """The manager of a record type whose records leave their planting when they are withdrawn."""
    return InPlanting.from_queryset(queryset)()


def place_words(record, joined, name):
    """What a tree, plot or round is called: by its planting, also after it was withdrawn."""
    if record.planting_id:
        return f"{record.planting}{joined}{name}"
    withdrawal = getattr(record, "withdrawal", None)
    return f"{withdrawal.planting_code if withdrawal else ''}{joined}{name} (withdrawn)"


class WithdrawnRecord(AppendOnly, Entered):
    """A tree, a counted plot or a round that a withdrawn load had brought in and that its rejected census records still name: it was never
    planted or held. What led to places and lots is written here; the rest stays in its row."""

    load = models.ForeignKey(Load, on_delete=models.PROTECT, related_name="withdrawn_records")
    tree = models.OneToOneField("plantings.Tree", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal")
    plot = models.OneToOneField("plantings.CountedPlot", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal")
    round = models.OneToOneField("plantings.CensusRound", on_delete=models.PROTECT, null=True, blank=True, related_name="withdrawal")
    planting_number = models.PositiveBigIntegerField("number of its planting in the table of plantings")
    planting_code = models.CharField(max_length=40)
    lot_code = models.CharField(max_length=40, blank=True)
    role = models.CharField(max_length=8, choices=choices.entry_roles, blank=True)
    block_code = models.CharField(max_length=40, blank=True)
    reason = models.CharField(max_length=200)

    SCOPE = OFFICE

    class Meta:
        ordering = ["id"]
        constraints = [
            CheckConstraint(
                condition=Q(tree__isnull=False, plot__isnull=True, round__isnull=True)
                | Q(tree__isnull=True, plot__isnull=False, round__isnull=True)
                | Q(tree__isnull=True, plot__isnull=True, round__isnull=False),
                name="withdrawnrecord_of_one",
            ),
        ]

    def __str__(self):
        if self.round:
            return f"{self.planting_code} {self.round.label}"
        return f"{self.planting_code}/{self.tree.tag if self.tree else self.plot.code}"

    @property
    def record(self):
        """The tree, plot or round."""
        return next(found for name in TARGETS if (found := getattr(self, name)) is not None)
