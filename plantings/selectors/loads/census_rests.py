"""What rests on the census records of a load: corrections, photos, second measurements. Such a load cannot be withdrawn as one."""

from plantings.models import Observation, Photo, PlotCount, SecondTree, TreeTag
from registry.calc.shared.screen import amount_words
from registry.selectors.loads.resting import Hindrance

__all__ = ["rests_on_counts", "rests_on_observations", "rests_on_tags"]


def rests_on_observations(keys, made):
    """A Hindrance where records that stay correct these observations, and where photos or second measurements are of them."""
    yield from _corrected(Observation, keys, made)
    photos = Photo.objects.filter(observation__in=keys).select_related("observation__tree__planting")
    if photo := photos.first():
        found = amount_words(photos.count(), "photos")
        yield Hindrance(f"{found} came to records of the load, the first to {photo.observation}.", photo.observation.tree)
    drawn = SecondTree.objects.filter(first__in=keys).select_related("first", "draw__round")
    if tree := drawn.first():
        yield Hindrance(f"Record {tree.first} was drawn for a second measurement.", tree.draw.round)


def rests_on_counts(keys, made):
    """As for observations."""
    yield from _corrected(PlotCount, keys, made)


def rests_on_tags(keys, made):
    """A Hindrance where a tree that got a new tag by the load has got another since."""
    own = set(made[TreeTag])
    later = (
        TreeTag.objects.filter(tree__old_tags__in=keys, pk__gt=max(keys)).exclude(pk__in=own).select_related("tree__planting").distinct()
    )
    for old in later[:1]:
        yield Hindrance(f"Tree {old.tree} got another new tag after the load.", old.tree)


def _corrected(model, keys, made):
    going = set(made[model])
    later = [pk for pk in model._base_manager.filter(supersedes__in=keys).order_by("pk").values_list("pk", flat=True) if pk not in going]
    if count := len(later):
        first = model._base_manager.select_related("round__planting", "supersedes").get(pk=later[0])
        were = "was" if count == 1 else "were"
        yield Hindrance(f"{amount_words(count, 'records')} {were} corrected after the load, the first: {first.supersedes}.", first.round)
