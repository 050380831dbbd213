from django.conf import settings
from django.contrib.auth.models import AbstractUser, UserManager
from django.db import models

from registry.access import roles
from registry.access.scoping import STAFF, ScopedQuerySet
from registry.choices import language_choices, role_choices
from registry.models.entered import Entered
from registry.models.shared.check_constraints import CheckConstraint


class PersonManager(UserManager.from_queryset(ScopedQuerySet)):
    pass


class Person(AbstractUser):
    """Somebody with an account, made by a coordinator; one role each.

    A landowner contact belongs to a partner and sees that partner's rows; a volunteer sees the
    plantings they are on the crew of.
    """

    role = models.CharField(max_length=20, choices=role_choices)
    partner = models.ForeignKey("registry.Partner", on_delete=models.PROTECT, null=True, blank=True, related_name="people")
    phone = models.CharField(max_length=40, blank=True)
    left_on = models.DateField("left the programme on", null=True, blank=True)
    language = models.CharField(max_length=7, choices=language_choices, blank=True)

    REQUIRED_FIELDS = ["role"]
    SCOPE = STAFF
    objects = PersonManager()

    class Meta:
        ordering = ["username"]
        constraints = [
            CheckConstraint(
                condition=~models.Q(role=roles.LANDOWNER) | models.Q(partner__isnull=False),
                name="person_landowner_has_partner",
                violation_error_message="A landowner contact needs the partner whose land it is.",
            ),
        ]

    def __str__(self):
        return self.get_full_name() or self.username

    @property
    def role_label(self):
        return roles.ROLES.get(self.role, "no role")

    def may(self, action):
        return self.is_active and roles.may(self.role, action)


class PasswordAsked(models.Model):
    """Somebody asked for a new password by mail: for which mail address, from where. Deleted after 90 days."""

    at = models.DateTimeField(db_index=True)
    email = models.CharField(max_length=254)
    address = models.GenericIPAddressField("asked from", null=True, blank=True)
    within_limits = models.BooleanField()

    SCOPE = {}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-at"]
        verbose_name = "request for a new password"
        verbose_name_plural = "requests for a new password"

    def __str__(self):
        return f"{self.email}, {self.at}"


class AccessToken(Entered):
    """A token with which a program reads the results as JSON, with the rights of one person. Only a hash of it is stored."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="access_tokens")
    purpose = models.CharField("what it is for", max_length=80)
    token_sha256 = models.CharField(max_length=64, unique=True)
    ends_on = models.DateField("valid until")
    revoked_at = models.DateTimeField(null=True, blank=True)
    used_on = models.DateField("last used on", null=True, blank=True)

    SCOPE = STAFF

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return f"token of {self.person} for {self.purpose}"
