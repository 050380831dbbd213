"""The programme's own rules: classes of material, what needs which paper, and the stored answers of the gate."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Exists, F, OuterRef, Q

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.calc.shared.screen import day_words
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet
from registry.models.entered import Entered
from registry.models.lots import Lot
from registry.models.movements import Shipment
from registry.models.permits import Authorization
from registry.models.shared.check_constraints import CheckConstraint


class MaterialClass(models.Model):
    """A class of material that rules name; which lots belong to it follows from the pedigree by its rule."""

    code = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=160)
    rule = models.CharField(max_length=16, choices=choices.class_rules)
    taxa = models.JSONField("binomials or genera", default=list, blank=True)
    forms = models.JSONField(default=list, blank=True)
    is_inherited = models.BooleanField("seed inherits it from its parents", default=False)
    declared_lots = models.ManyToManyField(Lot, blank=True, related_name="declared_classes")
    source = models.CharField(max_length=300, blank=True)
    is_example = models.BooleanField("an example, not law", default=False)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        verbose_name_plural = "material classes"

    def __str__(self):
        return self.title

    def clean(self):
        super().clean()
        if self.rule == choices.ClassRule.TAXON and not self.taxa:
            raise ValidationError({"taxa": "A class by species or genus needs at least one of them."})
        if self.rule == choices.ClassRule.FORM and not self.forms:
            raise ValidationError({"forms": "A class by form needs at least one form."})


class Requirement(models.Model):
    """A rule of the programme: for this, from here to there, such papers are needed. Unverified until somebody asks the authority.

    The wording of an edition is not changed once it has been used; a rule that changes is a new edition. Empty lists set no limit.
    """

    code = models.CharField(max_length=40)
    edition = models.CharField("edition of the source", max_length=60)
    title = models.CharField(max_length=200)
    text = models.TextField("what it requires, in our words", blank=True)
    activities = models.JSONField(default=list, blank=True)
    classes = models.JSONField("material classes", default=list, blank=True)
    forms = models.JSONField(default=list, blank=True)
    taxa = models.JSONField(default=list, blank=True)
    origins = models.JSONField(default=list, blank=True)
    destinations = models.JSONField(default=list, blank=True)
    transits = models.JSONField(default=list, blank=True)
    from_on = models.DateField("applies from", null=True, blank=True)
    until_on = models.DateField("applies until", null=True, blank=True)
    any_of = models.JSONField(
        "papers needed", default=list, blank=True, help_text="A list of sets of paper types; one paper of every set is needed."
    )
    blocking = models.BooleanField("stops dispatch and planting", default=True)
    source = models.CharField(max_length=300)
    verified_on = models.DateField(null=True, blank=True)
    verified_with = models.CharField("verified with (authority and person)", max_length=160, blank=True)
    verified_by = models.CharField(max_length=80, blank=True)
    review_by = models.DateField("ask again by", null=True, blank=True)
    is_example = models.BooleanField("an example, not law", default=False)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code", "edition"]
        verbose_name = "rule"
        constraints = [
            models.UniqueConstraint(fields=["code", "edition"], name="requirement_edition_once"),
            CheckConstraint(condition=~Q(source=""), name="requirement_has_source", violation_error_message="Give the source of the rule."),
            CheckConstraint(
                condition=Q(verified_on__isnull=True, verified_with="", verified_by="")
                | Q(verified_on__isnull=False) & ~Q(verified_with="") & ~Q(verified_by=""),
                name="requirement_verified_whole",
                violation_error_message="To mark the rule as verified, give the date, the authority and who checked.",
            ),
            CheckConstraint(
                condition=Q(from_on__isnull=True) | Q(until_on__isnull=True) | Q(until_on__gte=F("from_on")),
                name="requirement_until_after_from",
                violation_error_message="The last day is before the first.",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"


class RuleVerificationQuerySet(AppendOnlyQuerySet):
    def in_effect(self):
        """Without those that were corrected: they count on no day."""
        return self.filter(superseded_by__isnull=True)


class RuleVerification(AppendOnly, Entered):
    """Somebody asked the authority about a rule: when, who, with whom, and until when that is good. The last one is repeated on the rule.

    One that was entered wrongly is superseded.
    """

    requirement = models.ForeignKey(Requirement, on_delete=models.PROTECT, related_name="verifications")
    verified_on = models.DateField("asked on")
    verified_with = models.CharField("verified with (authority and person)", max_length=160)
    verified_by = models.CharField("asked by", max_length=80)
    review_by = models.DateField("ask again by", null=True, blank=True)
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it is corrected", max_length=200, blank=True)

    objects = RuleVerificationQuerySet.as_manager()

    class Meta:
        ordering = ["requirement", "verified_on", "id"]
        constraints = [
            CheckConstraint(condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="ruleverification_correction_has_reason"),
        ]

    def __str__(self):
        return f"{self.requirement.code}, edition {self.requirement.edition}, verified {self.verified_on}"


class DeterminationQuerySet(AppendOnlyQuerySet):
    def in_effect(self):
        """Those on which something was carried out that still holds: not that of a dispatch which was taken back."""
        again = Determination.objects.filter(carried_out=True, shipment=OuterRef("shipment"), pk__gt=OuterRef("pk"))
        left = Q(shipment__state=choices.ShipmentState.DISPATCHED, shipment__dispatched_on=F("asked_for"))
        return self.filter(Q(shipment__isnull=True) | left & ~Exists(again), carried_out=True)


class Determination(AppendOnly, Entered):
    """A stored answer of the gate: the question, the facts and what the gate said. It can be run again to the same result."""

    activity = models.CharField(max_length=20)
    subject = models.CharField("code of the shipment, planting or place", max_length=60, blank=True)
    shipment = models.ForeignKey(Shipment, on_delete=models.PROTECT, null=True, blank=True, related_name="determinations")
    asked_for = models.DateField("for the day")
    verdict = models.CharField(max_length=10)
    question = models.JSONField()
    facts = models.JSONField()
    answer = models.JSONField()
    carried_out = models.BooleanField("dispatched or planted under this answer", default=False)
    authorizations = models.ManyToManyField(Authorization, blank=True, related_name="determinations")
    override_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    override_reason = models.TextField(blank=True)

    objects = DeterminationQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["subject", "activity"])]
        constraints = [
            CheckConstraint(
                condition=Q(override_by__isnull=True, override_reason="") | (Q(override_by__isnull=False) & ~Q(override_reason="")),
                name="determination_override_has_reason",
            ),
            CheckConstraint(
                condition=~Q(verdict="stop", carried_out=True) | Q(override_by__isnull=False),
                name="determination_stop_needs_override",
            ),
        ]

    def __str__(self):
        return f"{self.subject or self.activity}, {day_words(self.asked_for)}"
