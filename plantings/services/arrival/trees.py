"""Census records of trees that arrive from a phone. What one must satisfy, and how it is stored: `services/census/observations.py`."""

from dataclasses import replace

from django.utils.translation import gettext as _

from plantings.calc.census.measurements import ERROR, FIELDS, MEASUREMENTS
from plantings.calc.census.own_measurements import row_values
from plantings.calc.phone.clock import note_typed
from plantings.calc.phone.reading import read_record
from plantings.models import Observation
from plantings.selectors.census.asked import own_at
from plantings.services.arrival.sorting import Arrivals
from plantings.services.census.observations import CensusRefused, CensusRow, as_stored, observations_record
from registry.selectors.shared.local_words import local_value

__all__ = ["TreeArrivals"]

_SAID = ("tree_id", "status", "cause", *FIELDS, "own_values", "observer")


class TreeArrivals(Arrivals):
    """What was seen at trees."""

    about = "tree_id"
    of_another = property(lambda _self: _("The record that this one corrects is of another tree or round. Enter the tree again."))

    def __init__(self, batch):
        super().__init__(batch)
        self.own = own_at(batch.round)

    def read(self, item):
        record = read_record(item, self.own)
        row = CensusRow(
            round_id=self.batch.round.pk, tree_id=record.tree, uuid=record.uuid, status=record.status, cause=record.cause,
            observer=record.observer, **self.batch.dated(record), **row_values((*MEASUREMENTS, *self.own), record.values),
        )  # fmt: skip
        return record, as_stored(row)

    def find_stored(self, uuids):
        return Observation.objects.filter(uuid__in=uuids).select_related("supersedes", "round")

    def said(self, row):
        return (*(getattr(row, name) for name in _SAID), note_typed(row.note))

    def as_correction(self, row, earlier, reason):
        return replace(row, supersedes_id=earlier.pk, reason=reason)

    def record(self, rows):
        """Store rows, all or none; raises CensusRefused."""
        batch = self.batch
        observations_record(actor=batch.actor, rows=rows, received_at=batch.now, reason=str(batch.link or ""))

    def store(self, rows):
        rows = dict(rows)
        while rows:
            places = list(rows)
            try:
                self.record(list(rows.values()))
            except CensusRefused as refused:
                for number, findings in refused.problems.items():
                    said = [finding.said(_, local_value) for finding in findings if finding.severity == ERROR]
                    self.refuse(places[number], " ".join(said))
                    del rows[places[number]]
            else:
                break
