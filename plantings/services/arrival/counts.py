"""Counts of plots that arrive from a phone. What a count must satisfy, and how it is stored, is in `services/census/plot_counts.py`."""

import uuid
from dataclasses import dataclass, replace
from datetime import date

from django.utils.translation import gettext as _

from plantings.calc.phone.clock import note_typed
from plantings.calc.phone.reading import read_count
from plantings.models import CountedPlot, PlotCount
from plantings.services.arrival.sorting import Arrivals
from plantings.services.census.plot_counts import PlotCountRefused, plot_counts_record

__all__ = ["PlotArrivals"]

_SAID = ("plot_id", "alive", "dead", "observer")


@dataclass(frozen=True, slots=True)
class _CountRow:
    """A count on its way in, by the names of its columns."""

    uuid: uuid.UUID
    plot_id: int
    alive: int
    dead: int
    observer: str
    observed_on: date
    note: str
    supersedes: PlotCount | None = None
    reason: str = ""


class PlotArrivals(Arrivals):
    """What was counted on plots."""

    about = "plot_id"
    of_another = property(lambda _self: _("The count that this one corrects is of another plot or round. Count the plot again."))

    def read(self, item):
        record = read_count(item)
        row = _CountRow(record.uuid, record.plot, record.alive, record.dead, record.observer, **self.batch.dated(record))
        return record, row

    def find_stored(self, uuids):
        return PlotCount.objects.filter(uuid__in=uuids).select_related("supersedes", "round")

    def said(self, row):
        return (*(getattr(row, name) for name in _SAID), note_typed(row.note))

    def as_correction(self, row, earlier, reason):
        return replace(row, supersedes=earlier, reason=reason)

    def store(self, rows):
        batch, rows = self.batch, dict(rows)
        plots = CountedPlot.objects.filter(planting=batch.planting).in_bulk({row.plot_id for row in rows.values()})
        for place, row in list(rows.items()):
            if row.plot_id not in plots:
                self.refuse(place, _("This plot is not in the planting of this round."))
                del rows[place]
        while rows:
            places = list(rows)
            counts = [_as_count(row, plots[row.plot_id]) for row in rows.values()]
            said = {"received_at": batch.now, "reason": str(batch.link or "")}
            try:
                plot_counts_record(actor=batch.actor, census_round=batch.round, counts=counts, **said)
            except PlotCountRefused as refused:
                self.refuse(places[refused.number], " ".join(refused.messages))
                del rows[places[refused.number]]
            else:
                break


def _as_count(row, plot):
    names = ("uuid", "alive", "dead", "observer", "observed_on", "note", "supersedes", "reason")
    return {name: getattr(row, name) for name in names} | {"plot": plot}
