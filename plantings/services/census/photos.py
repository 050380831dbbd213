"""Receives a photo that a phone took of a tree, after the record it belongs to; or takes it from the file that the phone saved.

A photo is stored once under its own identifier, however often it is sent. It stays with its record: a record that is corrected or rejected
later keeps its photos, since it stays on file itself.
"""

import hashlib
from datetime import UTC, datetime, time, timedelta
from uuid import uuid4

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from plantings.calc.census.photos import PHOTOS_A_RECORD, phone_jpeg, read_photo
from plantings.calc.phone.clock import seen_ms
from plantings.calc.phone.reading import UnreadableRecord
from plantings.models import Observation, Photo, Planting
from plantings.selectors.census.round_links import came_by_link
from plantings.selectors.plantings.photos import link_has_photos
from plantings.services.arrival.sorting import KNOWN, REFUSED, STORED, Answer
from plantings.services.census.round_links import round_link_in_use
from registry.calc.shared.screen import amount_words
from registry.selectors.shared.local_words import local_value
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write
from registry.services.permits.documents import file_keep
from registry.services.shared.past_day import known_day

__all__ = ["photo_add", "photo_receive"]

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class _Refused(Exception):
    """Why a photo is not stored, in words for whoever holds the phone."""


def photo_receive(*, actor, census_round, about, content, now=None, link=None, before=()):
    """Store a photo of a record of one round. Returns its `Answer`.

    Parameters
    ----------
    actor : Person
        Whose record it must be; for a photo that came by a `link`, who made the link. `before` are the links by which whoever holds it
        recorded before.
    about : dict of {str: str}
        What the phone says of it, of any shape (see `read_photo`).
    content : bytes
        The JPEG as it came.

    Raises `LinkOver` for a link that stores nothing any more, and `ValidationError` for a disk that takes nothing: the phone sends again.
    """
    now = now or timezone.now()
    try:
        sent = read_photo(about)
        sent_sha256 = hashlib.sha256(content).hexdigest()
        if _known(sent, sent_sha256):
            return Answer(str(sent.uuid), KNOWN)
        jpeg = phone_jpeg(content)  # before the write: nobody waits for a picture to be decoded
        result = _photo_store(
            actor=actor, census_round=census_round, sent=sent, sent_sha256=sent_sha256, jpeg=jpeg, link=link, before=before, now=now
        )  # fmt: skip
    except UnreadableRecord as error:
        return Answer(about.get("uuid", "")[:40], REFUSED, error.finding.said(_, local_value))
    except _Refused as refused:
        return Answer(str(sent.uuid), REFUSED, str(refused))
    return Answer(str(sent.uuid), result)


def _known(sent, sent_sha256):
    """Whether the same photo of the same record is stored. Raises `_Refused` for another one under its identifier."""
    known = Photo.objects.filter(uuid=sent.uuid).select_related("observation").first()
    if known and (known.sent_sha256, known.observation.uuid) != (sent_sha256, sent.record):
        raise _Refused(_("Another photo is already stored with this identifier. Take it again."))
    return known is not None


@write
def _photo_store(*, actor, census_round, sent, sent_sha256, jpeg, link, before, now):
    if link is not None:
        round_link_in_use(link)
    Planting.objects.select_for_update().get(pk=census_round.planting_id)  # of two tabs that send it at once the second finds it stored
    if _known(sent, sent_sha256):
        return KNOWN
    record = Observation.objects.filter(uuid=sent.record, round=census_round).select_related("tree").first()
    is_own = record and (came_by_link(record, (link, *before)) if link else record.entered_by_id == actor.pk)
    if not is_own:
        raise _Refused(_("The record of this photo is not stored for you. Save the photo and give it to the coordinator."))
    if record.photos.count() >= PHOTOS_A_RECORD or (link is not None and link_has_photos(link)):
        raise _Refused(_("No more photos are stored of this record. Save the photo and give it to the coordinator."))
    now_ms = (now - _EPOCH) // timedelta(milliseconds=1)
    taken_at = _EPOCH + timedelta(milliseconds=seen_ms(sent, sent.clock_ms, now_ms))
    _append(actor, record, jpeg, uuid=sent.uuid, sent_sha256=sent_sha256, taken_at=taken_at, link=link, received_at=now)
    return STORED


@write
def photo_add(*, actor, observation, content, filename):
    """Add a photo that a phone saved as a file to the record it is of. It counts as taken at noon of the day of the record.

    Raises `ValidationError` at `file` for what is no photo, one that the record has already, and one too many.
    """
    Planting.objects.select_for_update().get(pk=observation.round.planting_id)
    sent_sha256 = hashlib.sha256(content).hexdigest()
    try:
        jpeg = phone_jpeg(content)
    except UnreadableRecord as error:
        raise ValidationError({"file": f"{filename}: {error}"}) from error
    photos = list(observation.photos.values_list("sent_sha256", flat=True))
    if sent_sha256 in photos:
        raise ValidationError({"file": f"{filename}: this record has the photo already."})
    if len(photos) >= PHOTOS_A_RECORD:
        raise ValidationError({"file": f"This record has {amount_words(len(photos), 'photos')} already, the most there can be."})
    day = known_day(observation.observed_on, "A photo needs the day it was taken. Correct the day of the record first.", "file")
    taken_at = timezone.make_aware(datetime.combine(day, time(12)))
    return _append(
        actor, observation, jpeg, uuid=uuid4(), sent_sha256=sent_sha256, taken_at=taken_at, link=None, received_at=timezone.now()
    )  # fmt: skip


def _append(actor, record, jpeg, *, link, **fields):
    content, width, height = jpeg
    file = file_keep(actor=actor, content=content, filename=f"photo {record.tree.tag}.jpg".replace("/", "-"))
    photo = Photo(observation=record, file=file, width=width, height=height, entered_by=actor, link=link, **fields)
    photo.full_clean()
    append_row(photo)
    audit_record(actor=actor, verb="photo.added", obj=photo, changes={"sha256": [None, file.sha256]}, reason=str(link or ""))
    return photo
