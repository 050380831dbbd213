"""Census records of a load that somebody corrected since: such a load cannot be withdrawn as one."""

from plantings.models import Observation, PlotCount
from registry.calc.shared.screen import amount_words
from registry.selectors.loads.resting import Hindrance

__all__ = ["counts_corrected_since", "observations_corrected_since"]


def observations_corrected_since(keys):
    """A Hindrance where records outside `keys` correct these observations."""
    yield from _corrected(Observation, keys)


def counts_corrected_since(keys):
    """As for observations."""
    yield from _corrected(PlotCount, keys)


def _corrected(model, keys):
    later = model._base_manager.filter(supersedes__in=keys).exclude(pk__in=keys).select_related("round__planting", "supersedes")
    if count := later.count():
        first = later.order_by("pk").first()
        were = "was" if count == 1 else "were"
        yield Hindrance(f"{amount_words(count, 'records')} {were} corrected after the load, the first: {first.supersedes}.", first.round)
