"""What must be done by when, what was done, and what went wrong. Duties outlive the paper they come from."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from registry import choices
from registry.access import roles
from registry.access.scoping import READERS, ScopedQuerySet
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.files import StoredFile
from registry.models.gate import Requirement
from registry.models.partners import Partner
from registry.models.permits import Authorization
from registry.models.shared.check_constraints import CheckConstraint, UniqueConstraint


class Duty(Entered):
    """Something that must be done once or repeatedly, under a paper or for a rule. It continues until it is closed."""

    code = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=12, choices=choices.duty_kinds)
    title = models.CharField(max_length=160)
    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, null=True, blank=True, related_name="duties")
    requirement = models.ForeignKey(Requirement, on_delete=models.PROTECT, null=True, blank=True, related_name="duties")
    partner = models.ForeignKey(Partner, on_delete=models.PROTECT, null=True, blank=True, related_name="duties")
    site_code = models.CharField("code of the site", max_length=40, blank=True)
    recurrence = models.CharField(max_length=14, choices=choices.recurrences, default=choices.Recurrence.ONCE)
    first_due_on = models.DateField("first due on")
    every = models.PositiveSmallIntegerField("interval (months or years)", default=1)
    season_month = models.PositiveSmallIntegerField(null=True, blank=True)
    season_day = models.PositiveSmallIntegerField(null=True, blank=True)
    days_before = models.PositiveSmallIntegerField("days before that day", default=0)
    until_on = models.DateField("last occurrence by", null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField("days of notice", default=30)
    responsible = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="duties")
    second = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    evidence_wanted = models.CharField(max_length=200, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    closed_reason = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)

    SCOPE = READERS | {roles.VOLUNTEER: "responsible"}

    class Meta:
        ordering = ["first_due_on", "code"]
        verbose_name_plural = "duties"
        constraints = [
            CheckConstraint(
                condition=Q(closed_on__isnull=True, closed_reason="") | (Q(closed_on__isnull=False) & ~Q(closed_reason="")),
                name="duty_closed_has_reason",
                violation_error_message="Say why the duty ends.",
            ),
            CheckConstraint(condition=Q(every__gte=1), name="duty_every_positive"),
            CheckConstraint(
                condition=Q(season_month__isnull=True, season_day__isnull=True)
                | Q(season_month__gte=1, season_month__lte=12, season_day__gte=1, season_day__lte=31),
                name="duty_season_whole",
                violation_error_message="Give month and day of the season, or neither.",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"


class DutyDone(AppendOnly, Entered):
    """One occurrence of a duty, done, with its evidence; a correction supersedes it."""

    duty = models.ForeignKey(Duty, on_delete=models.PROTECT, related_name="done")
    due_on = models.DateField()
    done_on = models.DateField()
    by = models.CharField("done by", max_length=80)
    evidence = models.TextField()
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, blank=True, related_name="duties_done")
    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it is corrected", max_length=200, blank=True)

    class Meta:
        ordering = ["duty", "due_on", "id"]
        verbose_name_plural = "duties done"
        constraints = [
            CheckConstraint(
                condition=~Q(evidence=""), name="dutydone_has_evidence", violation_error_message="Give the evidence that it was done."
            ),
            CheckConstraint(condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="dutydone_correction_has_reason"),
        ]

    def __str__(self):
        return f"{self.duty.title}, due {self.due_on}"


class ReportingClock(models.Model):
    """How soon an authority must be told of an incident under a paper, counted from the discovery."""

    authorization = models.ForeignKey(Authorization, on_delete=models.PROTECT, related_name="clocks")
    title = models.CharField("what to report", max_length=120)
    tell = models.CharField("whom", max_length=160)
    amount = models.PositiveSmallIntegerField()
    unit = models.CharField(max_length=12, choices=choices.clock_units)
    as_written = models.TextField("as the paper says", blank=True)

    SCOPE = READERS
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["authorization", "id"]
        constraints = [models.UniqueConstraint(fields=["authorization", "title"], name="reportingclock_once")]

    def __str__(self):
        return f"{self.title}: {self.amount} {self.get_unit_display()}"


class Incident(Entered):
    """Something unexpected: what, found when, by whom. Its clocks start at the discovery. It is never refused."""

    code = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=160)
    what = models.TextField("what was found")
    found_at = models.DateTimeField("discovered at")
    found_by = models.CharField("discovered by", max_length=80)
    place = models.CharField(max_length=160, blank=True)
    site_code = models.CharField("code of the site", max_length=40, blank=True)
    zone = models.CharField("time zone of the place", max_length=40, blank=True)
    authorizations = models.ManyToManyField(Authorization, blank=True, related_name="incidents")
    lots = models.ManyToManyField("registry.Lot", blank=True, related_name="incidents")
    done_about_it = models.TextField("what was done about it", blank=True)
    closed_on = models.DateField(null=True, blank=True)
    closed_reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-found_at", "code"]
        constraints = [
            CheckConstraint(
                condition=Q(closed_on__isnull=True, closed_reason="") | (Q(closed_on__isnull=False) & ~Q(closed_reason="")),
                name="incident_closed_has_reason",
                violation_error_message="Say how the incident ended.",
            ),
        ]

    def __str__(self):
        return f"{self.code} {self.title}"


class IncidentNotice(AppendOnly, Entered):
    """Who was told of an incident, when, how. One that was entered wrongly is superseded; its clock runs again."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notices")
    clock = models.ForeignKey(ReportingClock, on_delete=models.PROTECT, null=True, blank=True, related_name="notices")
    told_at = models.DateTimeField()
    told_whom = models.CharField(max_length=160)
    how = models.CharField("by phone, mail, letter", max_length=60)
    told_by = models.CharField(max_length=80)
    text = models.TextField("what was said", blank=True)
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, null=True, blank=True, related_name="notices")

    supersedes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by")
    reason = models.CharField("why it is corrected", max_length=200, blank=True)

    class Meta:
        ordering = ["incident", "told_at", "id"]
        constraints = [
            CheckConstraint(condition=Q(supersedes__isnull=True) | ~Q(reason=""), name="incidentnotice_correction_has_reason"),
        ]

    def __str__(self):
        return f"{self.incident.code}: {self.told_whom} told"


class CalendarFeed(models.Model):
    """A secret address from which a person's calendar reads their duties. Only a hash of the secret is stored."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="feeds")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    SCOPE = dict.fromkeys(roles.ACTIONS["calendar.feed"], "person")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]
        constraints = [UniqueConstraint(fields=["person"], condition=Q(revoked_at__isnull=True), name="calendarfeed_one_open")]

    def __str__(self):
        return f"calendar of {self.person}"


class ReminderSent(models.Model):
    """The weekly mail of a person for one week: sent once, however often the command runs."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    week = models.CharField("ISO week", max_length=8)
    sent_at = models.DateTimeField(null=True, blank=True)
    lines = models.PositiveIntegerField()

    SCOPE = {}
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-week", "person"]
        constraints = [models.UniqueConstraint(fields=["person", "week"], name="remindersent_once")]

    def __str__(self):
        return f"{self.person}, {self.week}"
