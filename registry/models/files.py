"""Files that people uploaded, and the long work that makes files for them. The library's queue of long work has only its key."""

from django.db import models

from registry import choices
from registry.access.roles import READERS
from registry.access.scoping import ScopedQuerySet
from registry.models.append_only import AppendOnly
from registry.models.entered import Entered
from registry.models.people import Person
from registry.models.shared.check_constraints import CheckConstraint


class StoredFile(AppendOnly, Entered):
    """A file stored by the SHA-256 of its content: the same content is stored once, and a changed file shows."""

    sha256 = models.CharField(max_length=64, unique=True)
    size_bytes = models.PositiveIntegerField()
    content_type = models.CharField(max_length=80)
    filename = models.CharField("name it came with", max_length=160)

    class Meta:
        ordering = ["-entered_at", "-id"]

    def __str__(self):
        return self.filename


class Job(models.Model):
    """Long work of one person. `attempt` counts its starts: a worker that was taken for dead cannot write over a later start."""

    kind = models.CharField(max_length=20, choices=choices.job_kinds)
    title = models.CharField("what is made", max_length=160)
    given = models.JSONField("what it is made from", default=dict, blank=True)
    asked_by = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="jobs")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=choices.job_states)
    attempt = models.PositiveIntegerField(default=1)
    queue_key = models.CharField(max_length=40, blank=True)  # of its row in the queue of the library
    started_at = models.DateTimeField(null=True, blank=True)
    sign_of_life_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    seen_at = models.DateTimeField(null=True, blank=True)  # when the person first opened it after its end
    cancel_asked_at = models.DateTimeField(null=True, blank=True)
    step = models.CharField(max_length=160, blank=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    unit = models.CharField(max_length=30, blank=True)
    error = models.CharField(max_length=500, blank=True)
    result_page = models.CharField(max_length=200, blank=True)  # the address of a page of Mastbook
    result_name = models.CharField(max_length=160, blank=True)
    result_type = models.CharField(max_length=80, blank=True)
    result_bytes = models.PositiveBigIntegerField(default=0)
    result_sha256 = models.CharField(max_length=64, blank=True)

    SCOPE = dict.fromkeys(READERS, "asked_by")
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["asked_by", "state"], name="job_of_person")]
        constraints = [CheckConstraint(condition=models.Q(done__lte=models.F("total")), name="job_done_within_total")]

    def __str__(self):
        return self.title


class StoredAnswer(models.Model):
    """What a job worked out for a question, such as a model: both as SHA-256, the question and what the answer rests on. Another of the
    latter says that records changed since; the next answer takes its place. `about` is what it rests on in a few numbers."""

    question = models.CharField(max_length=64, unique=True)
    rests_sha256 = models.CharField(max_length=64)
    values = models.JSONField(null=True, blank=True)
    about = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField()

    SCOPE = {}  # no list shows them: who may ask the question gets the answer
    objects = ScopedQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-id"]

    def __str__(self):
        return f"answer {self.question[:8]}"
