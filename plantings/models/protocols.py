from django.db import models
from django.db.models import F, Q
from django.utils.functional import cached_property

from plantings.calc.census.own_measurements import OwnWords, field_of, own_measurement
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint


class OwnMeasurement(AppendOnly, Entered):
    """One version of a measurement of the programme's own: a number with its range, or ordered classes. It never changes."""

    code = models.CharField(max_length=24)
    version = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=40)
    unit = models.CharField(max_length=20, blank=True)
    classes = models.JSONField("classes, from nothing to most", default=list, blank=True)  # [code, words] each
    low = models.FloatField("lowest value", null=True, blank=True)
    high = models.FloatField("highest value", null=True, blank=True)
    whole = models.BooleanField("whole numbers only", default=False)
    loss_most = models.FloatField("only grows: how much less a later reading may be", null=True, blank=True)
    gain_most = models.FloatField("the most it grows in a year", null=True, blank=True)
    taken = models.CharField("how it is taken", max_length=300)
    from_season = models.PositiveSmallIntegerField("from which growing season on", default=0)

    class Meta:
        ordering = ["code", "version"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="ownmeasurement_version_once"),
            CheckConstraint(
                condition=Q(low__isnull=True, high__isnull=True) | Q(low__isnull=False, high__gt=F("low")),
                name="ownmeasurement_range",
                violation_error_message="Give a lowest and a highest value, the highest above the lowest.",
            ),
        ]

    def __str__(self):
        return f"{self.name} ({self.field})"

    @property
    def field(self):
        """Its name in records, forms, sheets and on the phone."""
        return field_of(self.code, self.version)

    @cached_property
    def definition(self):
        """The measurement as the checks, boxes and columns take it, in every language."""
        said = {record.language: record.words for record in sorted(self.in_languages.all(), key=lambda record: record.pk)}
        return self._defined(said)

    @cached_property
    def in_english(self):
        """The same without a look at other languages."""
        return self._defined({})

    def _defined(self, said):
        names = ("code", "version", "name", "unit", "classes", "low", "high", "whole", "taken", "from_season", "loss_most", "gain_most")
        return own_measurement(**{name: getattr(self, name) for name in names}, words=said)


class MeasurementWords(AppendOnly, Entered):
    """What a version of an own measurement is called in another language, and how it is taken there. The newest row of a language counts:
    words are not what was measured, so they change without a new version."""

    measurement = models.ForeignKey(OwnMeasurement, on_delete=models.PROTECT, related_name="in_languages")
    language = models.CharField(max_length=7)
    name = models.CharField(max_length=60)
    unit = models.CharField("unit, where it is written otherwise", max_length=20, blank=True)
    classes = models.JSONField("words of the classes, in their order", default=list, blank=True)
    taken = models.CharField("how it is taken", max_length=400)

    class Meta:
        verbose_name_plural = "words of measurements"
        ordering = ["measurement", "language", "id"]

    def __str__(self):
        return f"{self.name} ({self.measurement.field}, {self.language})"

    @property
    def words(self):
        """As a definition takes them."""
        return OwnWords(self.name, self.taken, self.unit, tuple(self.classes))


class Protocol(AppendOnly, Entered):
    """One version of a census protocol: what a round asks for at each tree, in order. It never changes."""

    code = models.CharField(max_length=24)
    version = models.PositiveSmallIntegerField()
    asks = models.JSONField("what it asks for", default=list, blank=True)  # names of the table, fields of own ones
    about = models.TextField("how the round is done", blank=True)

    class Meta:
        ordering = ["code", "version"]
        constraints = [models.UniqueConstraint(fields=["code", "version"], name="protocol_version_once")]

    def __str__(self):
        return f"{self.code} version {self.version}"
