"""The programme and its landowners: signed agreements, private links, messages about the land; the cautions."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from registry import choices
from registry.access import roles
from registry.access.scoping import EVERYONE, READERS, STAFF
from registry.calc.shared.iso import iso_day
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.partners import Partner
from registry.models.permits import Authorization
from registry.models.shared.check_constraints import CheckConstraint


class AgreementText(AppendOnly, Entered):
    """The wording of an agreement, by title and version. A changed wording is a new version."""

    title = models.CharField(max_length=160)
    version = models.CharField(max_length=20)
    body = models.TextField()
    is_example = models.BooleanField("an example, not law", default=False)

    SCOPE = READERS | {roles.LANDOWNER: "signatures__authorization__partner"}

    class Meta:
        ordering = ["title", "version"]
        constraints = [models.UniqueConstraint(fields=["title", "version"], name="agreementtext_version_once")]

    def __str__(self):
        return f"{self.title}, version {self.version}"


class AgreementSignature(AppendOnly, Entered):
    """Who signed which wording of an agreement, when and how."""

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="signatures")
    text = models.ForeignKey(AgreementText, on_delete=models.PROTECT, related_name="signatures")
    signed_by = models.CharField(max_length=120)
    signed_on = models.DateField()
    how = models.CharField(max_length=8, choices=choices.signed_hows)

    SCOPE = READERS | {roles.LANDOWNER: "authorization__partner"}

    class Meta:
        ordering = ["-signed_on", "-id"]

    def __str__(self):
        return f"{self.text} signed by {self.signed_by}"


class PrivateLink(Entered):
    """A revocable link to a landowner's own page. It acts in the name of the partner's contact; only a hash of it is stored."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="private_links")
    token_sha256 = models.CharField(max_length=64, unique=True)
    ends_on = models.DateField("valid until", null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    opened_at = models.DateTimeField("last opened", null=True, blank=True)

    SCOPE = STAFF

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"link of {self.person}"


class LandNotice(Entered):
    """A message from a landowner: the land is being sold, works are planned. Open until somebody enters what was done."""

    partner = models.ForeignKey(Partner, on_delete=models.PROTECT, related_name="land_notices")
    kind = models.CharField(max_length=8, choices=choices.land_notice_kinds)
    site_code = models.CharField("code of the site", max_length=40, blank=True)
    text = models.TextField()
    handled_on = models.DateField(null=True, blank=True)
    handled_by = models.CharField(max_length=80, blank=True)
    handled_text = models.TextField("what was done", blank=True)

    SCOPE = READERS | {roles.LANDOWNER: "partner"}

    class Meta:
        ordering = ["handled_on", "-entered_at"]
        constraints = [
            CheckConstraint(
                condition=Q(handled_on__isnull=True) | (~Q(handled_by="") & ~Q(handled_text="")),
                name="landnotice_handled_whole",
                violation_error_message="Say who acted on it and what was done.",
            ),
        ]

    def __str__(self):
        return f"{self.partner.code}: {self.get_kind_display()}"


class CautionText(AppendOnly, Entered):
    """A safety caution by code and version: for which task, season and place, and who decides locally.

    What people read (`CAUTION_WORDS`) is in English, and once more for each other language of the site; there complete or not at all.
    """

    code = models.CharField(max_length=40)
    version = models.PositiveSmallIntegerField()
    task = models.CharField(max_length=12, choices=choices.caution_tasks)
    hazard = models.CharField(max_length=80)
    text = models.TextField()
    decider = models.CharField("who decides locally", max_length=120)
    hazard_fr = models.CharField("hazard in French", max_length=80, blank=True)
    text_fr = models.TextField("caution in French", blank=True)
    decider_fr = models.CharField("who decides locally, in French", max_length=120, blank=True)
    months = models.JSONField("months it applies to", default=list, blank=True)
    site_codes = models.JSONField("sites it applies to", default=list, blank=True)
    source = models.CharField(max_length=300, blank=True)
    in_use_from = models.DateField()
    withdrawn = models.BooleanField("withdrawn by this version", default=False)

    SCOPE = EVERYONE

    class Meta:
        ordering = ["task", "code", "version"]
        constraints = [models.UniqueConstraint(fields=["code", "version"], name="cautiontext_version_once")]

    def __str__(self):
        return f"{self.hazard} (version {self.version})"


class CautionSeen(AppendOnly):
    """That a person said they had read the cautions of a task, in which versions, on which day."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="cautions_seen")
    task = models.CharField(max_length=12, choices=choices.caution_tasks)
    subject = models.CharField("round or task", max_length=60, blank=True)
    versions = models.JSONField()
    language = models.CharField("language of the page they read", max_length=7, blank=True)
    seen_at = models.DateTimeField()

    SCOPE = READERS | {roles.VOLUNTEER: "person"}

    class Meta:
        ordering = ["-seen_at", "-id"]
        verbose_name_plural = "cautions seen"

    def __str__(self):
        return f"{self.person} on {iso_day(self.seen_at)}"
