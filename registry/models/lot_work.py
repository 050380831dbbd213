"""What is done with a lot between harvest and shipment: tests, treatments, storage; and the handbook of species."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Left, Length

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly, Withdrawable
from registry.models.entered import Entered
from registry.models.lots import LedgerEntry, Lot
from registry.models.shared.check_constraints import CheckConstraint
from registry.models.shared.part_date_field import PartDateField


class Harvest(Withdrawable, Entered):
    """The facts of one picking. Its ledger entry has the day, the count and the mass, and takes facts again where they were withdrawn."""

    entry = models.ForeignKey(LedgerEntry, on_delete=models.PROTECT, related_name="harvests")
    picker = models.CharField(max_length=80)
    fruits = models.PositiveIntegerField("fruits picked", null=True, blank=True)
    containers = models.PositiveSmallIntegerField(default=1)
    labels_inside_and_outside = models.BooleanField("labels inside and outside every container", default=False)
    holder = models.CharField("who holds it", max_length=120, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-id"]

    def __str__(self):
        return f"harvest of {self.entry.lot}"


class SeedTest(Withdrawable, Entered):
    """One test of a sample. Which numbers it has depends on its kind; a correction supersedes it."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="tests")
    kind = models.CharField(max_length=12, choices=choices.seed_test_kinds)
    tested_on = PartDateField()
    tested_by = models.CharField(max_length=80)
    seeds = models.PositiveIntegerField("seeds in the sample", null=True, blank=True)
    sound = models.PositiveIntegerField("sound (float: sank)", null=True, blank=True)
    infested = models.PositiveIntegerField("with insects", null=True, blank=True)
    mouldy = models.PositiveIntegerField(null=True, blank=True)
    empty = models.PositiveIntegerField(null=True, blank=True)
    container_g = models.FloatField("container (g)", null=True, blank=True)
    wet_g = models.FloatField("container and seed before drying (g)", null=True, blank=True)
    dry_g = models.FloatField("container and seed after drying (g)", null=True, blank=True)
    pure_g = models.FloatField("pure seed (g)", null=True, blank=True)
    sample_g = models.FloatField("whole sample (g)", null=True, blank=True)
    regime = models.CharField("temperature and days", max_length=120, blank=True)
    entry = models.OneToOneField(LedgerEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="seed_test")
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it is corrected", max_length=200, blank=True)

    class Meta:
        ordering = ["-tested_on", "-id"]
        constraints = [
            CheckConstraint(condition=Q(sound__isnull=True) | Q(sound__lte=F("seeds")), name="seedtest_sound_within_sample"),
            CheckConstraint(
                condition=Q(wet_g__isnull=True)
                | Q(dry_g__isnull=True)
                | Q(container_g__isnull=True)
                | Q(wet_g__gte=F("dry_g"), dry_g__gte=F("container_g")),
                name="seedtest_weighings_in_order",
                violation_error_message="The container weighs least, the dried seed in it more, the seed before drying most.",
            ),
            CheckConstraint(condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="seedtest_correction_has_reason"),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} of {self.lot} on {self.tested_on}"


class SeedTestReplicate(AppendOnly):
    """A replicate: seeds germinated of seeds laid out, or the mass of a counted sample."""

    test = models.ForeignKey(SeedTest, on_delete=models.PROTECT, related_name="replicates")
    number = models.PositiveSmallIntegerField()
    seeds = models.PositiveIntegerField()
    germinated = models.PositiveIntegerField(null=True, blank=True)
    mass_g = models.FloatField(null=True, blank=True)

    SCOPE = READERS

    class Meta:
        ordering = ["test", "number"]
        constraints = [
            models.UniqueConstraint(fields=["test", "number"], name="seedtestreplicate_once"),
            CheckConstraint(
                condition=Q(germinated__isnull=True) | Q(germinated__lte=F("seeds")), name="seedtestreplicate_germinated_within_seeds"
            ),
            CheckConstraint(condition=Q(mass_g__isnull=True) | Q(mass_g__gt=0), name="seedtestreplicate_mass_positive"),
        ]

    def __str__(self):
        return f"{self.test}, replicate {self.number}"


class Treatment(Withdrawable, Entered):
    """What was done to the seed of a lot, such as a hot water bath: temperature, minutes, product, operator."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="treatments")
    kind = models.CharField(max_length=10, choices=choices.treatment_kinds)
    started_on = PartDateField()
    ended_on = PartDateField(null=True, blank=True)
    temperature_c = models.FloatField("temperature (°C)", null=True, blank=True)
    minutes = models.FloatField(null=True, blank=True)
    thermometer = models.CharField(max_length=80, blank=True)
    product = models.CharField("product and dilution", max_length=160, blank=True)
    operator = models.CharField(max_length=80)
    licence = models.CharField("licence of the operator, where one is needed", max_length=80, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-started_on", "-id"]
        constraints = [
            CheckConstraint(
                # as far as both are known: 2019-10 is not before 2019-10-09
                condition=Q(ended_on__isnull=True) | Q(ended_on__gte=Left("started_on", Length("ended_on"))),
                name="treatment_ends_after_start",
                violation_error_message="The end is before the start.",
            ),
            CheckConstraint(condition=Q(minutes__isnull=True) | Q(minutes__gt=0), name="treatment_minutes_positive"),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} of {self.lot} on {self.started_on}"


class StorageRecord(Withdrawable, Entered):
    """A storage check. Its ledger entry has what was discarded."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="storage_log")
    on = models.DateField()
    place = models.CharField(max_length=120)
    temperature_c = models.FloatField("temperature (°C)", null=True, blank=True)
    feel = models.CharField("moisture by feel", max_length=5, choices=choices.moisture_feels, blank=True)
    sprouted_percent = models.FloatField("sprouted (%)", null=True, blank=True)
    mouldy_percent = models.FloatField("mouldy (%)", null=True, blank=True)
    radicle_mm = models.FloatField("radicle length (mm)", null=True, blank=True)
    entry = models.OneToOneField(LedgerEntry, on_delete=models.PROTECT, null=True, blank=True, related_name="storage_record")
    by = models.CharField("checked by", max_length=80)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-on", "-id"]
        constraints = [
            CheckConstraint(
                condition=(Q(sprouted_percent__isnull=True) | Q(sprouted_percent__gte=0, sprouted_percent__lte=100))
                & (Q(mouldy_percent__isnull=True) | Q(mouldy_percent__gte=0, mouldy_percent__lte=100)),
                name="storagerecord_percent_0_100",
                violation_error_message="Enter a percentage from 0 to 100.",
            ),
        ]

    def __str__(self):
        return f"{self.lot} in store on {self.on}"


class SpeciesHandbook(models.Model):
    """A row of the handbook table of a species, with its source. The programme edits it; a change is in the history."""

    binomial = models.CharField(max_length=120)
    source = models.CharField(max_length=200)
    seeds_per_kg_low = models.FloatField(null=True, blank=True)
    seeds_per_kg_mean = models.FloatField(null=True, blank=True)
    seeds_per_kg_high = models.FloatField(null=True, blank=True)
    seeds_per_lb_low = models.FloatField(null=True, blank=True)
    seeds_per_lb_mean = models.FloatField(null=True, blank=True)
    seeds_per_lb_high = models.FloatField(null=True, blank=True)
    warm_days_low = models.PositiveSmallIntegerField(null=True, blank=True)
    warm_days_high = models.PositiveSmallIntegerField(null=True, blank=True)
    warm_temperature = models.CharField("warm period at (°C)", max_length=20, blank=True)
    cold_days_low = models.PositiveSmallIntegerField(null=True, blank=True)
    cold_days_high = models.PositiveSmallIntegerField(null=True, blank=True)
    cold_temperature = models.CharField("cold period at (°C)", max_length=20, blank=True)
    test_temperature = models.CharField("test at, day/night (°C)", max_length=20, blank=True)
    test_days = models.CharField("days of the test", max_length=20, blank=True)
    germination_percent = models.FloatField("germination (%)", null=True, blank=True)
    germination_samples = models.PositiveIntegerField("number of samples", null=True, blank=True)
    storage_class = models.CharField(max_length=12, choices=choices.storage_classes, default=choices.StorageClass.UNKNOWN)
    use_by_month = models.PositiveSmallIntegerField("use by, month after the harvest year", null=True, blank=True)
    use_by_day = models.PositiveSmallIntegerField("use by, day of that month", null=True, blank=True)
    fruit = models.CharField("what is picked", max_length=40, blank=True)
    bath_c_low = models.FloatField("hot water bath from (°C)", null=True, blank=True)
    bath_c_high = models.FloatField("hot water bath to (°C)", null=True, blank=True)
    bath_minutes = models.FloatField("hot water bath (minutes)", null=True, blank=True)
    bath_against = models.CharField("hot water bath against", max_length=40, blank=True)
    bath_source = models.CharField("source of the bath", max_length=200, blank=True)
    verified_on = models.DateField("checked against the printed page on", null=True, blank=True)
    verified_by = models.CharField(max_length=80, blank=True)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["binomial", "source"]
        verbose_name = "handbook row"
        constraints = [
            models.UniqueConstraint(fields=["binomial", "source"], name="specieshandbook_once"),
            CheckConstraint(
                condition=Q(use_by_month__isnull=True, use_by_day__isnull=True)
                | Q(use_by_month__gte=1, use_by_month__lte=12, use_by_day__gte=1, use_by_day__lte=31),
                name="specieshandbook_use_by_whole",
                violation_error_message="Give month and day of the use-by day, or neither.",
            ),
            CheckConstraint(condition=Q(verified_on__isnull=True) | ~Q(verified_by=""), name="specieshandbook_verified_by_somebody"),
            CheckConstraint(
                condition=Q(bath_c_low__isnull=True, bath_c_high__isnull=True, bath_minutes__isnull=True, bath_against="", bath_source="")
                | (
                    Q(bath_c_low__isnull=False, bath_c_high__isnull=False, bath_minutes__isnull=False)
                    & Q(bath_c_low__gte=0, bath_c_low__lte=F("bath_c_high"), bath_c_high__lte=100, bath_minutes__gt=0)
                    & ~Q(bath_against="")
                    & ~Q(bath_source="")
                ),
                name="specieshandbook_bath_whole",
                violation_error_message="Give temperatures, minutes, pest and source of the hot water bath, or none of them.",
            ),
        ]

    def __str__(self):
        return f"{self.binomial} ({self.source})"
