from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.choices import CrossType, LotOrigin
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet
from registry.models.pedigree import GENERATION_RULE, GenerationFields, PedigreeTree, PollenPool, Taxon
from registry.models.shared.check_constraints import CheckConstraint, UniqueConstraint

_NO_MOTHER = Q(mother__isnull=True, father__isnull=True, pollen_pool__isnull=True)
_CROSS = ("cross_type", "mother_id", "father_id", "pollen_pool_id", "year")
_NO_DECLARED = Q(declared_source="", declared_line="")
# Exactly one origin for every lot: no orphan can be stored.
ORIGIN_RULE = (
    Q(origin=LotOrigin.HARVEST, mother__isnull=False, year__isnull=False, parent__isnull=True, outside_origin="") & _NO_DECLARED
    | Q(origin__in=(LotOrigin.SOWN, LotOrigin.SPLIT), parent__isnull=False, outside_origin="") & _NO_MOTHER & _NO_DECLARED
    | Q(origin=LotOrigin.BULK, parent__isnull=True, outside_origin="") & _NO_MOTHER & _NO_DECLARED
    | Q(origin=LotOrigin.OUTSIDE, parent__isnull=True) & _NO_MOTHER & ~Q(outside_origin="")
)


class LotQuerySet(ScopedQuerySet):
    def for_list(self):
        return self.select_related("taxon", "mother", "parent")


class Lot(GenerationFields):
    """Seed or plants of one origin, stored together: mother, harvest year and orchard state; a bulk; or from outside.

    The ledger service sets `balance`; `recount` proves it.
    """

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=5, choices=choices.lot_kinds)
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="lots")
    origin = models.CharField(max_length=8, choices=choices.lot_origins)
    year = models.PositiveSmallIntegerField("ripening or sowing year", null=True, blank=True)
    mother = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, null=True, blank=True, related_name="lots_as_mother")
    father = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, null=True, blank=True, related_name="lots_as_father")
    pollen_pool = models.ForeignKey(PollenPool, on_delete=models.PROTECT, null=True, blank=True, related_name="lots")
    cross_type = models.CharField(max_length=12, choices=choices.cross_types, default=choices.CrossType.UNKNOWN)
    orchard_state = models.CharField(max_length=120, blank=True, help_text="which neighbours had been rogued at flowering")
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="raised_lots")
    outside_origin = models.CharField(max_length=200, blank=True)
    declared_source = models.CharField("source of resistance as declared", max_length=40, blank=True)
    declared_line = models.CharField("recurrent line as declared", max_length=40, blank=True)
    storage_place = models.CharField(max_length=120, blank=True)
    use_by = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)
    balance = models.PositiveIntegerField(default=0, editable=False)
    closed_on = models.DateField(null=True, blank=True, editable=False)

    SCOPE = READERS
    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(condition=GENERATION_RULE, name="lot_generation_whole"),
            CheckConstraint(
                condition=ORIGIN_RULE,
                name="lot_one_origin",
                violation_error_message=(
                    "A lot has exactly one origin: a harvest (mother and year), a parent lot it was raised from, "
                    "component lots (bulk), a lot it was split from, or a declared outside origin. "
                    "Fill the fields of that origin and leave the others blank."
                ),
            ),
            CheckConstraint(condition=Q(parent__isnull=True) | ~Q(parent=F("id")), name="lot_not_own_parent"),
            CheckConstraint(
                condition=Q(father__isnull=True) | Q(pollen_pool__isnull=True),
                name="lot_one_pollen_parent",
                violation_error_message="Give a father or a pollen pool, not both.",
            ),
            CheckConstraint(condition=Q(balance__gte=0), name="lot_balance_not_negative"),
            CheckConstraint(condition=Q(closed_on__isnull=True) | Q(balance=0), name="lot_closed_at_zero"),
        ]

    def __str__(self):
        return self.code

    def clean(self):
        super().clean()
        # a lot stored before these rules can still be moved to another store
        stored = Lot.objects.filter(pk=self.pk).values(*_CROSS, "taxon_id").first() if self.pk else None
        faults = {} if stored and all(stored[name] == getattr(self, name) for name in _CROSS) else self._cross_faults()
        if stored and stored["taxon_id"] != self.taxon_id:
            faults |= self._taxon_faults()
        if faults:
            raise ValidationError(faults)

    def may_hold(self, taxon):
        """Whether this lot, as a bulk, may take a lot of a taxon: the same one, or any of the genus that is the taxon of the bulk."""
        name = self.taxon.name.strip().casefold()
        return self.taxon_id == taxon.pk or name == taxon.name.strip().casefold().split(" ")[0]

    def _taxon_faults(self):
        for part in self.components.select_related("component__taxon"):
            if not self.may_hold(part.component.taxon):
                words = f"Its component {part.component} is {part.component.taxon}."
                return {"taxon": f"{words} Give the bulk that taxon, or the genus if it has components of several."}
        return {}

    def _cross_faults(self):
        """Where the kind of cross, the pollen and the year contradict each other, by field."""
        cross, pool = self.cross_type, self.pollen_pool
        other_father = self.father_id is not None and self.father_id != self.mother_id
        if cross == CrossType.SELF and (other_father or pool):
            field = "father" if other_father else "pollen_pool"
            return {field: "The mother of a selfed lot is also its father. Leave this blank, or choose another kind of cross."}
        if cross == CrossType.OPEN and self.father_id:
            return {"father": "The father of an open pollination is not known. Leave this blank, or choose another kind of cross."}
        if cross == CrossType.CONTROLLED and not (self.father_id or pool):
            return {"cross_type": "A controlled cross has a father or a pollen pool. Name it, or choose “unknown”."}
        if pool and self.year and pool.flowering_year > self.year:
            words = f"{pool.code} is of {pool.flowering_year}, after the seed ripened in {self.year}."
            return {"pollen_pool": f"{words} Choose the pool of its flowering, or correct the year."}
        # oaks of some groups and most pines ripen in the year after they flowered
        if pool and self.year and cross == CrossType.OPEN and pool.flowering_year < self.year - 1:
            words = f"{pool.code} is of {pool.flowering_year}; seed of {self.year} flowered in {self.year - 1} or {self.year}."
            return {"pollen_pool": f"{words} Choose the pool of its flowering."}
        return {}

    @property
    def unit(self):
        return "seeds" if self.kind == choices.LotKind.SEED else "plants"


class LotComponent(models.Model):
    """A lot that was mixed into a bulk, with how many seeds or plants of it."""

    bulk = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="components")
    component = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="bulked_into")
    count = models.PositiveIntegerField()
    bulked_on = models.DateField()
    reason = models.CharField(max_length=200, blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["bulk", "component"]
        constraints = [
            models.UniqueConstraint(fields=["bulk", "component"], name="lotcomponent_once"),
            CheckConstraint(condition=~Q(bulk=F("component")), name="lotcomponent_not_itself"),
            CheckConstraint(condition=Q(count__gt=0), name="lotcomponent_count_positive"),
        ]

    def __str__(self):
        return f"{self.component} in {self.bulk}"


class LedgerQuerySet(AppendOnlyQuerySet):
    def in_effect(self):
        """Without reversed entries and those that reverse them."""
        return self.filter(reverses=None, reversed_by=None)


class LedgerEntry(AppendOnly):
    """One line of a lot's ledger. Never changed or deleted (the database refuses); a reversing entry corrects."""

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="ledger")
    kind = models.CharField(max_length=14, choices=choices.ledger_kinds)
    quantity = models.IntegerField("quantity (seeds or plants; losses negative)")
    on = models.DateField()
    mass_g = models.FloatField(null=True, blank=True)
    counterpart = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    shipment_line = models.ForeignKey("registry.ShipmentLine", on_delete=models.PROTECT, null=True, blank=True, related_name="ledger")
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by")
    reference = models.CharField(max_length=60, blank=True, help_text="your own number for this entry; loading it again changes nothing")
    reason = models.CharField(max_length=200, blank=True)
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()

    SCOPE = READERS
    objects = LedgerQuerySet.as_manager()

    class Meta:
        ordering = ["on", "id"]
        verbose_name_plural = "ledger entries"
        indexes = [models.Index(fields=["lot", "on"])]
        constraints = [
            CheckConstraint(condition=~Q(quantity=0), name="ledgerentry_not_zero"),
            CheckConstraint(
                condition=Q(reverses__isnull=False)
                | Q(kind="counted")
                | Q(kind__in=choices.LEDGER_GAINS, quantity__gt=0)
                | Q(kind__in=choices.LEDGER_LOSSES, quantity__lt=0),
                name="ledgerentry_sign_by_kind",
            ),
            CheckConstraint(
                condition=(Q(reverses__isnull=True) & ~Q(kind="counted")) | ~Q(reason=""),
                name="ledgerentry_reason_given",
                violation_error_message="A reversal or a stock-take difference needs a reason.",
            ),
            CheckConstraint(condition=Q(mass_g__isnull=True) | Q(mass_g__gt=0), name="ledgerentry_mass_positive"),
            UniqueConstraint(fields=["lot", "reference"], condition=~Q(reference=""), name="ledgerentry_reference_once"),
        ]

    def __str__(self):
        return f"{self.lot} {self.get_kind_display()} {self.quantity:+d} on {self.on}"
