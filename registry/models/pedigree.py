from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.calc.pedigree.generation import Generation
from registry.compliance.shared.name_faults import name_fault
from registry.compliance.shared.taxon_names import read_name
from registry.models.shared.check_constraints import CheckConstraint

# A generation is two whole numbers, or one other word (native, donor …); never both, never one number.
GENERATION_RULE = Q(backcrosses__isnull=False, intercrosses__isnull=False, generation_other="") | Q(
    backcrosses__isnull=True, intercrosses__isnull=True
)


class GenerationFields(models.Model):
    """Generation as the two integers of the trade: backcrosses and intercrosses after the first hybrid."""

    backcrosses = models.PositiveSmallIntegerField(null=True, blank=True)
    intercrosses = models.PositiveSmallIntegerField(null=True, blank=True)
    generation_other = models.CharField(max_length=20, blank=True, help_text="native, donor, or another word")

    class Meta:
        abstract = True

    @property
    def generation(self):
        if self.backcrosses is None and not self.generation_other:
            return None
        return Generation(self.backcrosses, self.intercrosses, self.generation_other)

    @property
    def generation_code(self):
        return self.generation.code if self.generation else ""


class Taxon(models.Model):
    """A species or hybrid by its botanical name: native, donor, or a hybrid of both."""

    name = models.CharField("binomial", max_length=120, unique=True)
    common_name = models.CharField(max_length=120, blank=True)
    hybrid_of = models.CharField(
        "parents of a hybrid", max_length=200, blank=True, help_text="Such as Juglans ailantifolia × Juglans cinerea. Rules go by either."
    )
    role = models.CharField(max_length=10, choices=choices.taxon_roles)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "taxa"

    def __str__(self):
        return self.name

    def clean(self):
        super().clean()
        faults = {name: words for name in ("name", "hybrid_of") if (words := self._name_fault(name))}
        if faults:
            raise ValidationError(faults)

    def _name_fault(self, field):
        text = getattr(self, field)
        if not text or Taxon.objects.filter(pk=self.pk, **{field: text}).exists():  # one on file from before stays as it is
            return ""
        if fault := name_fault(text):
            return fault
        if field == "hybrid_of" and not read_name(text).parents:
            return f"“{text}” names one parent. Write both, with × between them."
        return ""


class PollenPool(models.Model):
    """The father of an open-pollinated lot: the trees that were standing and flowered in one orchard block in one year."""

    code = models.CharField(max_length=40, unique=True)
    orchard = models.CharField(max_length=60)
    block = models.CharField(max_length=40, blank=True)
    flowering_year = models.PositiveSmallIntegerField()
    flowered_on = models.DateField(
        "day of flowering", null=True, blank=True, help_text="Trees alive on this day are in the pool. Leave blank for 1 June."
    )
    outside_share = models.DecimalField("declared outside share (0–1)", max_digits=4, decimal_places=3, null=True, blank=True)
    outside_taxon = models.ForeignKey(
        Taxon, on_delete=models.PROTECT, null=True, blank=True, related_name="+", verbose_name="taxon of outside pollen"
    )
    outside_classes = models.JSONField("classes outside pollen may carry", default=list, blank=True)
    selfing_share = models.DecimalField("declared selfing share (0–1)", max_digits=4, decimal_places=3, null=True, blank=True)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(
                condition=Q(outside_share__isnull=True) | Q(outside_share__gte=0, outside_share__lte=1),
                name="pollenpool_outside_share_0_1",
            ),
            CheckConstraint(
                condition=Q(selfing_share__isnull=True) | Q(selfing_share__gte=0, selfing_share__lte=1),
                name="pollenpool_selfing_share_0_1",
            ),
            CheckConstraint(
                condition=Q(outside_share__isnull=True) | Q(selfing_share__isnull=True) | Q(outside_share__lte=1 - F("selfing_share")),
                name="pollenpool_shares_within_1",
                violation_error_message="Outside share and selfing share add up to more than 1.",
            ),
        ]

    def __str__(self):
        return self.code


class PedigreeTree(GenerationFields):
    """A tree of the pedigree: founder, cross or orchard tree. Never deleted; a rogued tree stays on record."""

    code = models.CharField(max_length=40, unique=True)
    taxon = models.ForeignKey(Taxon, on_delete=models.PROTECT, related_name="trees")
    mother = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="children_as_mother")
    father = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="children_as_father")
    pollen_pool = models.ForeignKey(PollenPool, on_delete=models.PROTECT, null=True, blank=True, related_name="trees")
    cross_type = models.CharField(max_length=12, choices=choices.cross_types, default=choices.CrossType.UNKNOWN)
    source_of_resistance = models.CharField(max_length=40, blank=True)
    recurrent_line = models.CharField(max_length=40, blank=True)
    orchard = models.CharField(max_length=60, blank=True)
    block = models.CharField(max_length=40, blank=True)
    plot = models.CharField(max_length=40, blank=True)
    row = models.PositiveIntegerField(null=True, blank=True)
    position = models.PositiveIntegerField(null=True, blank=True)
    planted_year = models.PositiveSmallIntegerField(null=True, blank=True)
    first_flowering_year = models.PositiveSmallIntegerField(null=True, blank=True)
    status = models.CharField(max_length=10, choices=choices.tree_statuses, default=choices.TreeStatus.STANDING)
    status_on = models.DateField(null=True, blank=True)
    status_reason = models.TextField(blank=True)
    regulated_engineered = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(condition=GENERATION_RULE, name="pedigreetree_generation_whole"),
            CheckConstraint(
                condition=(Q(mother__isnull=True) | ~Q(mother=F("id"))) & (Q(father__isnull=True) | ~Q(father=F("id"))),
                name="pedigreetree_not_own_parent",
                violation_error_message="A tree cannot be its own parent.",
            ),
            CheckConstraint(
                condition=Q(father__isnull=True) | Q(pollen_pool__isnull=True),
                name="pedigreetree_one_pollen_parent",
                violation_error_message="Give a father or a pollen pool, not both.",
            ),
            CheckConstraint(
                condition=Q(status=choices.TreeStatus.STANDING) | ~Q(status_reason=""),
                name="pedigreetree_status_has_reason",
                violation_error_message="Give the reason why the tree is dead or rogued.",
            ),
        ]

    def __str__(self):
        return self.code

    def clean(self):
        super().clean()
        other_father = self.father_id is not None and self.father_id != self.mother_id
        if self.cross_type == choices.CrossType.SELF and (other_father or self.pollen_pool_id):
            cross = {name: getattr(self, name) for name in ("cross_type", "mother_id", "father_id", "pollen_pool_id")}
            if not PedigreeTree.objects.filter(pk=self.pk, **cross).exists():  # one on file from before stays as it is
                field = "father" if other_father else "pollen_pool"
                raise ValidationError(
                    {field: "The mother of a selfed tree is also its father. Leave this blank, or correct the cross type."}
                )


class PollenPoolMember(models.Model):
    """A tree that was standing and flowered in the block of the pool that year. It stays a member when it is rogued later."""

    pool = models.ForeignKey(PollenPool, on_delete=models.PROTECT, related_name="members")
    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, related_name="pollen_pools")
    weight = models.DecimalField(
        "share of the pollen",
        max_digits=7,
        decimal_places=4,
        null=True,
        blank=True,
        help_text="Any unit, such as male flowers counted. Weigh every member or none.",
    )
    basis = models.CharField("how the weight is known", max_length=120, blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["pool", "tree"]
        constraints = [
            models.UniqueConstraint(fields=["pool", "tree"], name="pollenpoolmember_once"),
            CheckConstraint(condition=Q(weight__isnull=True) | Q(weight__gt=0), name="pollenpoolmember_weight_positive"),
        ]

    def __str__(self):
        return f"{self.tree} in {self.pool}"
