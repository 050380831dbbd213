from django.db import models
from django.db.models import F, Q

from plantings import choices
from plantings.models.blind import BlindRows
from plantings.models.sites import POINT_RULE, Block, Planting
from plantings.models.withdrawn import in_planting, place_words
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models import LedgerEntry, Lot, ShipmentLine
from registry.models.shared.check_constraints import CheckConstraint, UniqueConstraint
from registry.models.shared.part_date_field import PartDateField

_PLANTING_SCOPE = READERS | {roles.LANDOWNER: "planting__site__partner", roles.VOLUNTEER: "planting__crew"}
_ENTRY_SCOPE = READERS | {roles.LANDOWNER: "entry__planting__site__partner", roles.VOLUNTEER: "entry__planting__crew"}


class PlantingEntry(models.Model):
    """One lot in one role in a planting: the entry of the design, and the row of every survival table."""

    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, related_name="entries")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="entries")
    role = models.CharField(max_length=8, choices=choices.entry_roles, default=choices.EntryRole.TEST)

    SCOPE = _PLANTING_SCOPE
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["planting", "lot"]
        verbose_name_plural = "planting entries"
        constraints = [models.UniqueConstraint(fields=["planting", "lot", "role"], name="plantingentry_once")]

    def __str__(self):
        return f"{self.planting} {self.lot} ({self.role})"


class EntrySupply(models.Model):
    """Where the planted material of an entry came from: a received shipment line, the ledger, or planted before these records."""

    entry = models.ForeignKey(PlantingEntry, on_delete=models.PROTECT, related_name="supplies")
    count = models.PositiveIntegerField()
    shipment_line = models.ForeignKey(ShipmentLine, on_delete=models.PROTECT, null=True, blank=True, related_name="supplies")
    ledger_entry = models.OneToOneField(LedgerEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="supply")
    before_records = models.BooleanField(default=False)

    SCOPE = _ENTRY_SCOPE
    objects = ScopedQuerySet.as_manager()

    class Meta:
        verbose_name_plural = "entry supplies"
        constraints = [
            CheckConstraint(
                condition=Q(shipment_line__isnull=False, ledger_entry__isnull=True, before_records=False)
                | Q(shipment_line__isnull=True, ledger_entry__isnull=False, before_records=False)
                | Q(shipment_line__isnull=True, ledger_entry__isnull=True, before_records=True),
                name="entrysupply_one_source",
            ),
            CheckConstraint(condition=Q(count__gt=0), name="entrysupply_count_positive"),
        ]

    def __str__(self):
        return f"{self.count} for {self.entry}"


class TreeQuerySet(BlindRows, ScopedQuerySet):
    def for_list(self):
        return self.select_related("planting", "entry__lot", "block")

    def in_walk_order(self):
        return self.order_by("walk_number", "id")


class Tree(models.Model):
    """A tree as planted. Its number is never reused; a replacement is another tree at the same position. Without a planting and an entry it
    was withdrawn with the load that brought it, and was never planted (`WithdrawnRecord`).

    `fate` is the fate at the planting's last round with records, stored by the census service and checked by `recount`.
    """

    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, null=True, related_name="trees")
    entry = models.ForeignKey(PlantingEntry, on_delete=models.PROTECT, null=True, related_name="trees")
    tag = models.CharField(max_length=40)
    block = models.ForeignKey(Block, on_delete=models.PROTECT, null=True, blank=True, related_name="trees")
    row = models.PositiveIntegerField(null=True, blank=True)
    position = models.PositiveIntegerField(null=True, blank=True)
    occupant = models.PositiveSmallIntegerField("1 for the original, 2 for its replacement …", default=1, editable=False)
    walk_number = models.PositiveIntegerField(default=0, editable=False)
    longitude = models.FloatField("longitude (degrees, WGS 84)", null=True, blank=True)
    latitude = models.FloatField("latitude (degrees, WGS 84)", null=True, blank=True)
    accuracy_m = models.FloatField("how far the point may be off (m)", null=True, blank=True)
    planted_on = PartDateField(null=True, blank=True)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaced_by")
    fate = models.CharField(max_length=14, choices=choices.tree_fates, default=choices.TreeFate.UNSEEN, editable=False)
    note = models.TextField(blank=True)

    SCOPE = _PLANTING_SCOPE
    objects = in_planting(TreeQuerySet)

    class Meta:
        ordering = ["planting", "walk_number", "id"]
        indexes = [models.Index(fields=["planting", "walk_number"])]
        constraints = [
            models.UniqueConstraint(fields=["planting", "tag"], name="tree_tag_once"),
            # two constraints: for a database, a position without a block is never equal to another
            UniqueConstraint(fields=["block", "row", "position", "occupant"], condition=Q(block__isnull=False), name="tree_position_once"),
            UniqueConstraint(
                fields=["planting", "row", "position", "occupant"],
                condition=Q(block__isnull=True),
                name="tree_position_without_block_once",
            ),
            CheckConstraint(condition=Q(replaces__isnull=True) | ~Q(replaces=F("id")), name="tree_not_own_replacement"),
            CheckConstraint(
                condition=Q(row__isnull=True, position__isnull=True) | Q(row__isnull=False, position__isnull=False),
                name="tree_position_whole",
                violation_error_message="Give row and position together, or neither.",
            ),
            CheckConstraint(
                condition=POINT_RULE,
                name="tree_point_on_earth",
                violation_error_message="Give both longitude (−180 to 180) and latitude (−90 to 90), or neither.",
            ),
            CheckConstraint(
                condition=Q(accuracy_m__isnull=True) | Q(longitude__isnull=False, accuracy_m__isnull=False, accuracy_m__gt=0),
                name="tree_accuracy_of_a_point",
                violation_error_message="The accuracy is that of a point: give longitude and latitude too, and more than 0 m.",
            ),
            CheckConstraint(
                condition=Q(planting__isnull=False, entry__isnull=False)
                | Q(planting__isnull=True, entry__isnull=True, block__isnull=True, replaces__isnull=True),
                name="tree_of_a_lot_or_withdrawn",
            ),
        ]

    def __str__(self):
        return place_words(self, "/", self.tag)


class TreeTag(models.Model):
    """A tag a tree carried earlier; a re-tagged tree is found by its old tag too."""

    tree = models.ForeignKey(Tree, on_delete=models.PROTECT, related_name="old_tags")
    tag = models.CharField(max_length=40)
    until_on = PartDateField()
    reason = models.CharField(max_length=200)

    SCOPE = READERS | {roles.LANDOWNER: "tree__planting__site__partner", roles.VOLUNTEER: "tree__planting__crew"}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["tree", "until_on"]

    def __str__(self):
        return self.tag


class CountedPlotQuerySet(ScopedQuerySet):
    def known(self):
        """Those whose number planted is on file: figures are made from these alone."""
        return self.filter(planted_count__isnull=False)

    def unknown(self):
        """Those that nobody knows the number planted of: counts over time, and in no figure."""
        return self.filter(planted_count__isnull=True)


class CountedPlot(models.Model):
    """Trees counted and not tagged: direct seeding and old records. Without `planted_count` nobody knows how many were planted or sown;
    such a plot has counts over time and is in no figure of survival. Without a planting and an entry it was withdrawn, as a tree can be."""

    planting = models.ForeignKey(Planting, on_delete=models.PROTECT, null=True, related_name="counted_plots")
    entry = models.ForeignKey(PlantingEntry, on_delete=models.PROTECT, null=True, related_name="counted_plots")
    code = models.CharField(max_length=40)
    planted_count = models.PositiveIntegerField(null=True, blank=True)

    SCOPE = _PLANTING_SCOPE
    objects = in_planting(CountedPlotQuerySet)

    class Meta:
        ordering = ["planting", "code"]
        constraints = [
            models.UniqueConstraint(fields=["planting", "code"], name="countedplot_code_once"),
            CheckConstraint(condition=Q(planted_count__gt=0), name="countedplot_planted_positive"),
            CheckConstraint(
                condition=Q(planting__isnull=False, entry__isnull=False) | Q(planting__isnull=True, entry__isnull=True),
                name="countedplot_of_a_lot_or_withdrawn",
            ),
        ]

    def __str__(self):
        return place_words(self, "/", self.code)
