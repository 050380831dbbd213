"""Receives a batch of records that a phone made without a signal: an answer for each, so that a bad record holds back no other.

What a record must satisfy, and how it is stored, is in `services/census.py`; how the records of a batch are sorted is in
`services/arrival/sorting.py`, the same for trees, plots and cautions read.
"""

from dataclasses import replace

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from plantings.calc.census.measurements import ERROR, FIELDS, MEASUREMENTS
from plantings.calc.census.own_measurements import row_values
from plantings.calc.census.sent import note_typed, read_record
from plantings.models import Observation, Planting
from plantings.selectors.census.asked import own_at
from plantings.services.arrival.cautions import CautionArrivals
from plantings.services.arrival.counts import PlotArrivals
from plantings.services.arrival.sorting import CORRECTED, KNOWN, REFUSED, STORED, Answer, Arrivals, Batch
from plantings.services.census import CensusRefused, CensusRow, as_stored, observations_record
from plantings.services.round_links import round_link_counted, round_link_in_use
from registry.selectors.shared.local_words import local_value
from registry.services.audit.write import write

__all__ = ["BATCH_MOST", "CORRECTED", "KNOWN", "REFUSED", "STORED", "Answer", "census_batch_receive"]

BATCH_MOST = 100  # records a phone sends at once
_SAID = ("tree_id", "status", "cause", *FIELDS, "own_values", "observer")


@write
def census_batch_receive(*, actor, census_round, sent, clock_ms, now=None, link=None):
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

    Returns a list of `Answer`, one for each record and in the same order.
    """
    if len(sent) > BATCH_MOST:
        raise ValidationError(_("A batch holds at most %(most)s records.") % {"most": BATCH_MOST})
    if link is not None:
        round_link_in_use(link)
    # The lock comes first: of two phones that send the same record at once, the second must find what the first stored.
    planting = Planting.objects.select_for_update().select_related("site").get(pk=census_round.planting_id)
    batch = Batch(actor, census_round, planting, link, clock_ms, now or timezone.now())
    stored = 0
    for kind, items in _by_kind(sent).items():
        stored += kind(batch).take(items)
    if link is not None:
        round_link_counted(link, stored)
    return [batch.answers[place] for place in range(len(sent))]


def _by_kind(sent):
    """{kind of arrivals: {place: item without its kind}}."""
    found = {}
    for place, item in enumerate(sent):
        name = item.get("kind") if isinstance(item, dict) else None
        kind = _KINDS.get(name) if isinstance(name, str) else None
        if kind:
            item = {part: value for part, value in item.items() if part != "kind"}
        found.setdefault(kind or TreeArrivals, {})[place] = item
    return found


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

    def as_correction(self, row, earlier):
        return replace(row, supersedes_id=earlier.pk, reason=CORRECTED)

    def store(self, rows):
        batch, rows = self.batch, dict(rows)
        while rows:
            places = list(rows)
            try:
                observations_record(actor=batch.actor, rows=list(rows.values()), received_at=batch.now, reason=str(batch.link or ""))
            except CensusRefused as refused:
                for number, findings in refused.problems.items():
                    said = [finding.said(_, local_value) for finding in findings if finding.severity == ERROR]
                    self.refuse(places[number], " ".join(said))
                    del rows[places[number]]
            else:
                break


_KINDS = {"plot": PlotArrivals, "cautions": CautionArrivals}
