"""Photos that a phone sends after the record they belong to."""

from django.conf import settings
from django.db import models

from plantings.models.blind import BlindRows
from plantings.models.census import Observation
from plantings.models.round_links import RoundLink
from registry.access import roles
from registry.access.scoping import READERS
from registry.models import StoredFile
from registry.models.append_only import AppendOnly, AppendOnlyQuerySet


class PhotoQuerySet(BlindRows, AppendOnlyQuerySet):
    tree_path = "observation__tree"


class Photo(AppendOnly):
    """A photo of an observation. The file is a picture made again from the one that came, without the place and the camera.

    `sent_sha256` is the hash of what came: the same photo sent again is known by it, whatever version of the program stored it.
    """

    uuid = models.UUIDField(unique=True, editable=False)
    observation = models.ForeignKey(Observation, on_delete=models.PROTECT, related_name="photos")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    sent_sha256 = models.CharField(max_length=64)
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    taken_at = models.DateTimeField()
    entered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    link = models.ForeignKey(RoundLink, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    received_at = models.DateTimeField()

    SCOPE = READERS | {roles.LANDOWNER: "observation__tree__planting__site__partner", roles.VOLUNTEER: "observation__tree__planting__crew"}
    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["observation", "id"]

    def __str__(self):
        return f"photo of {self.observation}"
