from django.conf import settings
from django.db import models
from django.db.models import F, Q

from registry import choices
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.files import StoredFile
from registry.models.shared.check_constraints import CheckConstraint


class Authorization(models.Model):
    """One shape for permit, certificate, licence, notification, consent, agreement, and "none is needed"."""

    code = models.CharField("our reference", max_length=40, unique=True)
    type = models.CharField(max_length=12, choices=choices.authorization_types)
    title = models.CharField(max_length=160)
    issuer = models.CharField(max_length=160)
    issuer_reference = models.CharField("issuer's reference", max_length=80, blank=True)
    holder_body = models.CharField(max_length=160, blank=True)
    holder_person = models.CharField(max_length=120, blank=True)
    holder_account = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="papers_held"
    )
    holder_address = models.TextField("address it is bound to", blank=True)
    second_contact = models.CharField(max_length=160, blank=True)
    second_account = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="papers_seconded"
    )
    transferable = models.BooleanField("continues when the holder leaves", default=False)
    one_consignment = models.BooleanField("holds for one consignment", default=False)
    issuer_contact = models.CharField("contact at the issuer", max_length=160, blank=True)
    partner = models.ForeignKey("registry.Partner", on_delete=models.PROTECT, null=True, blank=True, related_name="papers")
    covers = models.TextField("what it covers, as written")
    conditions = models.TextField("conditions, as written", blank=True)
    cap_quantity = models.PositiveIntegerField(null=True, blank=True)
    cap_unit = models.CharField(max_length=20, blank=True)
    drawn = models.PositiveIntegerField("drawn from the cap so far", default=0, editable=False)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=choices.authorization_states, default=choices.AuthorizationState.DRAFT)
    basis = models.TextField(
        "basis", blank=True, help_text="For a determination that no paper is needed: who was asked, and what was read."
    )
    verified_on = models.DateField("last checked with the issuer on", null=True, blank=True)
    verified_by = models.CharField("checked by", max_length=80, blank=True)
    review_by = models.DateField("ask again by", null=True, blank=True)
    note = models.TextField(blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            CheckConstraint(
                condition=Q(starts_on__isnull=True) | Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="authorization_ends_after_start",
                violation_error_message="The end date is before the start date.",
            ),
            CheckConstraint(
                condition=Q(cap_quantity__isnull=True) | ~Q(cap_unit=""),
                name="authorization_cap_has_unit",
                violation_error_message="A quantity cap needs its unit (seeds or plants).",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"


class AuthorizationStateRecord(AppendOnly, Entered):
    """From this day on a paper is in this state. The last one is repeated on the paper."""

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="state_history")
    state = models.CharField(max_length=10, choices=choices.authorization_states)
    on = models.DateField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["authorization", "on", "id"]

    def __str__(self):
        return f"{self.authorization.code} {self.get_state_display()} from {self.on}"


class AuthorizationVersion(AppendOnly, Entered):
    """What a paper says from a day on: number 0 as issued, then its amendments. An empty list sets no limit.

    Lists hold codes: material classes, binomials, lots, forms, activities; places as ISO 3166-2 codes and patterns of
    `compliance.places`. The last version is repeated on the paper.
    """

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    from_on = models.DateField("in effect from", null=True, blank=True)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    covers = models.TextField(blank=True)
    conditions = models.TextField(blank=True)
    under = models.JSONField("issued under the rules", default=list, blank=True)
    classes = models.JSONField("material classes", default=list, blank=True)
    taxa = models.JSONField(default=list, blank=True)
    lots = models.JSONField(default=list, blank=True)
    forms = models.JSONField(default=list, blank=True)
    activities = models.JSONField(default=list, blank=True)
    origins = models.JSONField(default=list, blank=True)
    destinations = models.JSONField(default=list, blank=True)
    transits = models.JSONField(default=list, blank=True)
    sites = models.JSONField(default=list, blank=True)
    people = models.JSONField(default=list, blank=True)
    cap_quantity = models.PositiveIntegerField(null=True, blank=True)
    cap_unit = models.CharField(max_length=20, blank=True)
    cap_activities = models.JSONField(default=list, blank=True)
    reason = models.CharField("what was amended and why", max_length=200, blank=True)

    class Meta:
        ordering = ["authorization", "number"]
        constraints = [
            models.UniqueConstraint(fields=["authorization", "number"], name="authorizationversion_once"),
            CheckConstraint(
                condition=Q(starts_on__isnull=True) | Q(ends_on__isnull=True) | Q(ends_on__gte=F("starts_on")),
                name="authorizationversion_ends_after_start",
                violation_error_message="The end date is before the start date.",
            ),
            CheckConstraint(
                condition=Q(number=0) | (Q(from_on__isnull=False) & ~Q(reason="")),
                name="authorizationversion_amendment_dated",
                violation_error_message="Give the day the amendment takes effect and what was amended.",
            ),
        ]

    def __str__(self):
        return f"{self.authorization.code}, version {self.number}"


class PaperDocument(AppendOnly, Entered):
    """A document of a paper, stored by its content. A newer one is added beside it; none is removed."""

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="documents")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="documents")
    title = models.CharField(max_length=160)
    dated = models.DateField("date on the document", null=True, blank=True)

    class Meta:
        ordering = ["authorization", "-entered_at", "id"]
        constraints = [models.UniqueConstraint(fields=["authorization", "file"], name="paperdocument_once")]

    def __str__(self):
        return self.title


class AuthorizationDraw(AppendOnly, Entered):
    """What was drawn from the cap of a paper, by what; a negative quantity gives back. Earlier use has no lot."""

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="draws")
    kind = models.CharField(max_length=8, choices=choices.draw_kinds)
    lot = models.ForeignKey("registry.Lot", on_delete=models.PROTECT, related_name="draws", null=True, blank=True)
    quantity = models.IntegerField()
    on = models.DateField()
    subject = models.CharField("shipment or planting", max_length=60)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["authorization", "on", "id"]
        constraints = [
            CheckConstraint(
                condition=Q(kind="returned", quantity__lt=0) & ~Q(reason="") | ~Q(kind="returned") & Q(quantity__gt=0),
                name="authorizationdraw_sign_by_kind",
            ),
            CheckConstraint(
                condition=Q(kind="opening", lot__isnull=True) | ~Q(kind="opening") & Q(lot__isnull=False),
                name="authorizationdraw_lot_unless_opening",
            ),
        ]

    def __str__(self):
        return f"{self.authorization.code} {self.quantity:+d} {self.subject}"
