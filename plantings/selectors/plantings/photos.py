"""Reads of photos: those of a tree, of a round, of some records."""

from collections import defaultdict

from plantings.calc.census.photos import PHOTOS_A_RECORD
from plantings.models import Observation, Photo, Tree

__all__ = ["link_has_photos", "photos_by_record", "photos_of_round", "photos_with_corrected"]

_KEYS_AT_ONCE = 900


def photos_by_record(observations):
    """{observation pk: its photos, the oldest first} of those that have any. One query for each 900."""
    return _photos_of([record.pk for record in observations])


def photos_with_corrected(observations):
    """The same with the photos of the records that each of them corrects: a photo stays with the record it was sent after."""
    found = {record.pk: [record.pk] for record in observations}
    later = {record.supersedes_id: record.pk for record in observations if record.supersedes_id}
    while later:
        for earlier, newest in later.items():
            found[newest].append(earlier)
        before = Observation.objects.filter(pk__in=later, supersedes__isnull=False).order_by().values_list("pk", "supersedes")
        later = {earlier: later[pk] for pk, earlier in before}
    photos = _photos_of([pk for keys in found.values() for pk in keys])
    return {newest: [photo for pk in sorted(keys) for photo in photos.get(pk, ())] for newest, keys in found.items()}


def _photos_of(keys):
    found = defaultdict(list)
    for start in range(0, len(keys), _KEYS_AT_ONCE):
        for photo in Photo.objects.filter(observation__in=keys[start : start + _KEYS_AT_ONCE]).order_by("pk"):
            found[photo.observation_id].append(photo)
    return dict(found)


def photos_of_round(census_round, user):
    """The photos of a round that a person may see. A correction takes no photo away, nor does a rejection."""
    return Photo.objects.for_user(user).filter(observation__round=census_round)


def link_has_photos(link):
    """Whether as many photos came by a link as its trees may have."""
    trees = Tree.objects.filter(planting=link.round.planting_id).count()
    return Photo.objects.filter(link=link).count() >= PHOTOS_A_RECORD * max(trees, 10)
