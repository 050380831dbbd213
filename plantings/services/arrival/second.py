"""Second measurements that arrive from a phone. What one must satisfy, and how it is stored, is in `services/census/second.py`."""

from dataclasses import fields

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from plantings.calc.phone.clock import note_typed
from plantings.models import SecondMeasurement
from plantings.selectors.census.asked import asked_at
from plantings.selectors.census.second import may_correct_second, recorded_values
from plantings.services.arrival.sorting import CORRECTED
from plantings.services.arrival.trees import TreeArrivals
from plantings.services.census.observations import CensusRefused, CensusRow
from plantings.services.census.second import second_measurement_correct, second_measurements_record
from registry.selectors.shared.local_words import local_value

__all__ = ["SecondArrivals"]

_OF_THE_RECORD = {"round_id", "tree_id", "supersedes_id", "reason", "arrived_as"}  # what a correction takes from what it corrects


class SecondArrivals(TreeArrivals):
    """What a second person measured at the drawn trees of the draw of the batch."""

    def __init__(self, batch):
        super().__init__(batch)
        self.asked = asked_at(batch.round)

    def find_stored(self, uuids):
        return SecondMeasurement.objects.filter(uuid__in=uuids).select_related("supersedes", "drawn__draw", "entered_by")

    def is_here(self, stored):
        return stored.drawn.draw_id == self.batch.draw.pk

    def subject(self, row):
        return row.drawn.tree_id if isinstance(row, SecondMeasurement) else row.tree_id

    def said(self, row):
        values = row.values if isinstance(row, SecondMeasurement) else recorded_values(row, self.asked)
        return (self.subject(row), row.status, row.cause, values, row.observer, note_typed(row.note))

    def may_correct(self, earlier, row):
        return may_correct_second(self.batch.actor, earlier)

    def asked_back(self, records):
        return set()  # second measurements are not reviewed

    def record(self, rows):
        second_measurements_record(actor=self.batch.actor, draw=self.batch.draw, rows=rows)

    def store(self, rows):
        super().store({place: row for place, row in rows.items() if row.supersedes_id is None})
        for place, row in rows.items():
            if row.supersedes_id is not None:
                self._correct(place, row)

    def _correct(self, place, row):
        changes = {item.name: getattr(row, item.name) for item in fields(CensusRow) if item.name not in _OF_THE_RECORD}
        record = next(stored for stored in self.stored.values() if stored.pk == row.supersedes_id)
        try:
            second_measurement_correct(actor=self.batch.actor, record=record, reason=CORRECTED, **changes)
        except CensusRefused as refused:
            self.refuse(place, " ".join(finding.said(_, local_value) for finding in refused.problems[0]))
        except ValidationError as error:
            self.refuse(place, " ".join(error.messages))
