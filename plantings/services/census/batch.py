"""Receives a batch of records that a phone made without a signal: an answer for each, so that a bad record holds back no other.

What a record must satisfy, and how it is stored, is in `observations.py` and `plot_counts.py`; how the records of a batch are sorted is in
`services/arrival/sorting.py`, the same for trees, plots and cautions read.
"""

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from plantings.models import Planting
from plantings.services.arrival.cautions import CautionArrivals
from plantings.services.arrival.counts import PlotArrivals
from plantings.services.arrival.second import SecondArrivals
from plantings.services.arrival.sorting import Batch
from plantings.services.arrival.trees import TreeArrivals
from plantings.services.census.round_links import round_link_counted, round_link_in_use, round_link_requested
from registry.services.audit.write import write

__all__ = ["BATCH_MOST", "census_batch_receive"]

BATCH_MOST = 200  # records a phone sends at once: what one person records in a day


@write
def census_batch_receive(*, actor, census_round, sent, clock_ms, now=None, link=None, before=(), draw=None):
    """Store what can be stored of a batch of one round, in one transaction and with one audit entry for each kind of record.

    Parameters
    ----------
    actor : Person
        Who entered the records; for those that came by a `link`, who made it.
    sent : list
        At most `BATCH_MOST` records as they came, of any shape. One whose `kind` is "plot" is the count of a plot, "cautions" that somebody
        read the cautions; any other is of a tree.
    clock_ms : int
        What the clock of the phone said when it sent them, in milliseconds since 1970.
    before : tuple of RoundLink
        Links of the round by which whoever holds `link` recorded before: they correct what they sent by those.
    draw : SecondDraw, optional
        The records of trees are second measurements of this draw.

    Returns a list of `Answer`, one for each record and in the same order.
    """
    if len(sent) > BATCH_MOST:
        raise ValidationError(_("A batch holds at most %(most)s records.") % {"most": BATCH_MOST})
    planting = Planting.objects.select_related("site").get(pk=census_round.planting_id)
    batch = Batch(actor, census_round, planting, link, clock_ms, now or timezone.now(), draw, before)
    # Reading them needs nothing that others may change, so nobody waits for it.
    arrivals = [kind(batch).read_all(items) for kind, items in _by_kind(sent, TreeArrivals if draw is None else SecondArrivals).items()]
    if link is not None:
        round_link_in_use(link)
        round_link_requested(link)
    # The lock comes before any look at what is stored: of two phones that send the same record at once, the second must find what the first
    # stored.
    Planting.objects.select_for_update().get(pk=planting.pk)
    stored = sum(one.take() for one in arrivals)
    if link is not None:
        round_link_counted(link, stored)
    return [batch.answers[place] for place in range(len(sent))]


def _by_kind(sent, of_trees):
    """{kind of arrivals: {place: item without its kind}}; items without a kind are `of_trees`."""
    found = {}
    for place, item in enumerate(sent):
        name = item.get("kind") if isinstance(item, dict) else None
        kind = _KINDS.get(name) if isinstance(name, str) else None
        if kind:
            item = {part: value for part, value in item.items() if part != "kind"}
        found.setdefault(kind or of_trees, {})[place] = item
    return found


_KINDS = {"plot": PlotArrivals, "cautions": CautionArrivals}
