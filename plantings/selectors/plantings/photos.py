"""Reads of photos: those of a tree, of a round, of some records."""

from collections import defaultdict

from plantings.calc.census.photos import PHOTOS_A_RECORD
from plantings.models import Photo, Tree

__all__ = ["link_has_photos", "photos_by_record", "photos_of_round"]

_KEYS_AT_ONCE = 900


def photos_by_record(observations):
    """{observation pk: its photos, the oldest first} of those that have any. One query for each 900."""
    found = defaultdict(list)
    keys = [record.pk for record in observations]
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
