"""What is recorded about an orchard tree over the years: status, ratings, decisions, measured share. All of it is append-only."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access.scoping import OFFICE, READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly, Withdrawable
from registry.models.entered import Entered
from registry.models.lots import Lot
from registry.models.pedigree import PedigreeTree
from registry.models.shared.check_constraints import CheckConstraint
from registry.models.shared.part_date_field import PartDateField


class TreeStatusRecord(Withdrawable, Entered):
    """A step of the status history. The last one is repeated on the tree. One without an author was copied from the tree."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, related_name="status_history")
    status = models.CharField(max_length=10, choices=choices.tree_statuses)
    on = models.DateField(null=True, blank=True)
    reason = models.TextField(blank=True)
    stump_treated = models.BooleanField("stump treated", null=True, blank=True)

    class Meta:
        ordering = ["tree", "on", "id"]

    def __str__(self):
        return f"{self.tree} {self.get_status_display()}"


class RatingScale(models.Model):
    """A scale of resistance scores, by name and version. A changed scale is a new version, never an edit."""

    name = models.CharField(max_length=80)
    version = models.CharField(max_length=20)
    disease = models.CharField(max_length=80)
    lowest = models.DecimalField(max_digits=5, decimal_places=2)
    highest = models.DecimalField(max_digits=5, decimal_places=2)
    step = models.DecimalField(max_digits=4, decimal_places=2)
    low_means = models.CharField("what the lowest score means", max_length=160)
    high_means = models.CharField("what the highest score means", max_length=160)
    source = models.CharField(max_length=200, blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["name", "version"]
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="ratingscale_version_once"),
            CheckConstraint(
                condition=Q(highest__gt=F("lowest"), step__gt=0),
                name="ratingscale_spans",
                violation_error_message="The highest score must be above the lowest, and the step above zero.",
            ),
        ]

    def __str__(self):
        return f"{self.name}, version {self.version}"


class Rating(Withdrawable, Entered):
    """One score of one tree on one day. Comparable only with the checks rated in the same orchard on the same day, so one of which only the
    month or the year is known is compared with none."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, related_name="ratings")
    scale = models.ForeignKey(RatingScale, on_delete=models.PROTECT, related_name="ratings")
    rated_on = PartDateField()
    score = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    method = models.CharField(max_length=12, choices=choices.rating_methods)
    strain = models.CharField("strain of the pathogen", max_length=60, blank=True)
    inoculated_on = PartDateField(null=True, blank=True)
    canker_length_mm = models.FloatField(null=True, blank=True)
    canker_width_mm = models.FloatField(null=True, blank=True)
    rater = models.CharField(max_length=80)
    note = models.TextField(blank=True)
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it is corrected", max_length=200, blank=True)

    class Meta:
        ordering = ["-rated_on", "tree", "id"]
        indexes = [models.Index(fields=["scale", "rated_on"])]
        constraints = [
            CheckConstraint(
                condition=Q(score__isnull=False) | Q(canker_length_mm__isnull=False),
                name="rating_has_a_reading",
                violation_error_message="Give a score or a canker length.",
            ),
            CheckConstraint(
                condition=(Q(canker_length_mm__isnull=True) | Q(canker_length_mm__gte=0))
                & (Q(canker_width_mm__isnull=True) | Q(canker_width_mm__gte=0)),
                name="rating_canker_not_negative",
            ),
            CheckConstraint(condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="rating_correction_has_reason"),
        ]

    def __str__(self):
        return f"{self.tree} rated on {self.rated_on}"


class SelectionDecision(Withdrawable, Entered):
    """Kept or to be rogued, on what evidence, by which two people. Carrying it out is a step of the status history."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, related_name="decisions")
    decision = models.CharField(max_length=8, choices=choices.decisions)
    decided_on = models.DateField()
    evidence = models.TextField()
    method = models.CharField(max_length=160, blank=True)
    ratings = models.ManyToManyField(Rating, blank=True, related_name="decisions")
    first_name = models.CharField("decided by", max_length=80)
    second_name = models.CharField("agreed by", max_length=80)
    warnings = models.JSONField("diversity warnings shown", default=list, blank=True)
    warnings_answer = models.CharField("reason for going ahead despite the warnings", max_length=300, blank=True)
    needs_second = models.BooleanField("the second person confirms it", null=True, blank=True)

    class Meta:
        ordering = ["-decided_on", "-id"]
        constraints = [
            CheckConstraint(condition=~Q(evidence=""), name="selectiondecision_has_evidence"),
            CheckConstraint(
                condition=~Q(first_name="") & ~Q(second_name="") & ~Q(first_name__iexact=F("second_name")),
                name="selectiondecision_two_names",
                violation_error_message="Two different people decide. Give both names.",
            ),
            CheckConstraint(
                condition=Q(warnings=[]) | ~Q(warnings_answer=""),
                name="selectiondecision_warnings_answered",
                violation_error_message="This decision breaks a diversity floor. Give the reason for going ahead.",
            ),
        ]

    def __str__(self):
        return f"{self.tree} {self.get_decision_display()} on {self.decided_on}"


class DecisionLink(Entered):
    """A link by which the second person of a decision confirms it without an account. Only a hash of it is stored, and it ends."""

    decision = models.ForeignKey(SelectionDecision, on_delete=models.PROTECT, related_name="links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    ends_on = models.DateField("good until")

    SCOPE = OFFICE

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"link for {self.decision.second_name}"


class DecisionAgreement(AppendOnly, Entered):
    """The second person of a decision agreed, signed in or by a link."""

    decision = models.OneToOneField(SelectionDecision, on_delete=models.PROTECT, related_name="agreement")
    how = models.CharField(max_length=8, choices=choices.agreed_hows)
    link = models.ForeignKey(DecisionLink, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-id"]
        constraints = [
            CheckConstraint(
                condition=Q(how="account", link__isnull=True, entered_by__isnull=False) | Q(how="link", link__isnull=False),
                name="decisionagreement_how",
            ),
        ]

    def __str__(self):
        return f"{self.decision.second_name} agreed to {self.decision}"


class MeasuredShare(Withdrawable, Entered):
    """A genotyped share of the donor species, of one tree or as the mean of a sample of a lot. It never replaces the expected share."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, null=True, blank=True, related_name="measured_shares")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="measured_shares")
    donor_share = models.DecimalField(max_digits=5, decimal_places=4)
    standard_error = models.DecimalField(max_digits=5, decimal_places=4, null=True, blank=True)
    sample_size = models.PositiveIntegerField("plants genotyped", default=1)
    markers = models.PositiveIntegerField("markers read", null=True, blank=True)
    method = models.CharField(max_length=120)
    sampled_on = models.DateField()
    laboratory = models.CharField(max_length=120, blank=True)
    reference = models.CharField("laboratory's reference", max_length=80, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["-sampled_on", "-id"]
        constraints = [
            CheckConstraint(
                condition=Q(tree__isnull=False, lot__isnull=True) | Q(tree__isnull=True, lot__isnull=False),
                name="measuredshare_tree_or_lot",
                violation_error_message="Give a tree or a lot, not both.",
            ),
            CheckConstraint(condition=Q(donor_share__gte=0, donor_share__lte=1), name="measuredshare_0_1"),
            CheckConstraint(condition=Q(sample_size__gt=0), name="measuredshare_sample_positive"),
        ]

    def __str__(self):
        return f"{self.tree or self.lot} {self.donor_share} on {self.sampled_on}"


TREE_LOT_OR_POOL = (
    Q(tree__isnull=False, lot__isnull=True, pool__isnull=True)
    | Q(tree__isnull=True, lot__isnull=False, pool__isnull=True)
    | Q(tree__isnull=True, lot__isnull=True, pool__isnull=False)
)


class IdentityEvidence(Withdrawable, Entered):
    """Evidence of identity: what was checked, on which day, and whether it supports the recorded identity."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, null=True, blank=True, related_name="identity_evidence")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="identity_evidence")
    pool = models.ForeignKey("registry.PollenPool", on_delete=models.PROTECT, null=True, blank=True, related_name="identity_evidence")
    kind = models.CharField(max_length=10, choices=choices.evidence_kinds)
    outcome = models.CharField(max_length=12, choices=choices.evidence_outcomes)
    on = models.DateField()
    by = models.CharField(max_length=80)
    text = models.TextField("what was seen")
    reference = models.CharField("sample or report number", max_length=80, blank=True)

    class Meta:
        ordering = ["-on", "-id"]
        verbose_name_plural = "identity evidence"
        constraints = [CheckConstraint(condition=TREE_LOT_OR_POOL, name="identityevidence_one_record")]

    def __str__(self):
        return f"{self.tree or self.lot or self.pool}: {self.get_outcome_display()}"


class IdentityQuestion(Entered):
    """An identity in question. `trees` and `lots` are everything downstream; the service updates them until the question is settled."""

    tree = models.ForeignKey(PedigreeTree, on_delete=models.PROTECT, null=True, blank=True, related_name="own_questions")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="own_questions")
    pool = models.ForeignKey("registry.PollenPool", on_delete=models.PROTECT, null=True, blank=True, related_name="own_questions")
    raised_on = models.DateField()
    reason = models.TextField()
    trees = models.ManyToManyField(PedigreeTree, blank=True, related_name="questions")
    lots = models.ManyToManyField(Lot, blank=True, related_name="questions")
    settled_on = models.DateField(null=True, blank=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    # when that was entered: evidence that came in after it is not answered by it, whatever its day
    settled_at = models.DateTimeField(null=True, blank=True, editable=False)
    settlement = models.CharField(max_length=10, choices=choices.settlements, blank=True)
    settlement_text = models.TextField("how it was settled", blank=True)

    class Meta:
        ordering = ["settled_on", "-raised_on", "-id"]
        constraints = [
            CheckConstraint(condition=TREE_LOT_OR_POOL, name="identityquestion_one_record"),
            CheckConstraint(condition=~Q(reason=""), name="identityquestion_has_reason"),
            CheckConstraint(
                condition=Q(settled_on__isnull=True, settled_at__isnull=True, settlement="", settlement_text="")
                | Q(settled_on__isnull=False, settled_at__isnull=False) & ~Q(settlement="") & ~Q(settlement_text=""),
                name="identityquestion_settled_whole",
                violation_error_message="To settle the question, give the date, the outcome and how it was settled.",
            ),
        ]

    def __str__(self):
        return f"{self.tree or self.lot or self.pool} in question"

    @property
    def about(self):
        return self.tree or self.lot or self.pool
