"""Receives a batch of records that a phone made without a signal: an answer for each, so that a bad record holds back no other.

What a record must satisfy, and how it is stored, is in `services/census.py`; this module only sorts the records of a batch. It has no other
rule about a row than whose identifier it carries: stored before with the same values it is known, with other values it is refused.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from plantings.calc.census.measurements import ERROR, FIELDS, MEASUREMENTS
from plantings.calc.census.own_measurements import row_values
from plantings.calc.census.sent import UnreadableRecord, note_typed, note_with_clock, read_record, seen_ms
from plantings.models import Observation, Planting
from plantings.selectors.census.asked import own_at
from plantings.selectors.census.records import may_correct
from plantings.services.census import CensusRefused, CensusRow, as_stored, observations_record
from plantings.services.round_links import round_link_counted, round_link_in_use
from registry.compliance.duties.local_day import local_day as day_in_zone
from registry.compliance.duties.place_zones import zone_of
from registry.selectors.shared.local_words import local_value
from registry.services.audit.write import write

__all__ = ["BATCH_MOST", "CORRECTED", "KNOWN", "REFUSED", "STORED", "Answer", "census_batch_receive"]

BATCH_MOST = 100  # records a phone sends at once
STORED, KNOWN, REFUSED = "stored", "known", "refused"
CORRECTED = "corrected on the phone"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


_SAID = ("tree_id", "status", "cause", *FIELDS, "own_values", "observer")


class Answer(NamedTuple):
    """What became of one record: its identifier as it was sent, one of `STORED`, `KNOWN`, `REFUSED`, and the reason of a refusal."""

    uuid: object
    result: str
    reason: str = ""


@write
def census_batch_receive(*, actor, census_round, sent, clock_ms, now=None, link=None):
    """Store what can be stored of a batch of one round, in one transaction and with one audit entry.

    Parameters
    ----------
    actor : Person
        Who entered the records; for those that came by a `link`, who made it.
    sent : list
        At most `BATCH_MOST` records as they came, of any shape.
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
    batch = _Batch(actor, census_round, planting, link, clock_ms, now or timezone.now())
    batch.read(sent)
    batch.sort_out()
    if link is not None:
        round_link_counted(link, batch.stored_count)
    return batch.answers


def _said(row, corrects):
    """What a record says, as far as it was typed: not the day that the server worked out."""
    return (*(getattr(row, name) for name in _SAID), note_typed(row.note), corrects)


class _Batch:
    """The records of one batch on their way from what was sent to their answers."""

    def __init__(self, actor, census_round, planting, link, clock_ms, now):
        self.actor, self.round, self.link, self.now = actor, census_round, link, now
        zone = zone_of(planting.site.jurisdiction)
        self.zone = ZoneInfo(zone) if zone else timezone.get_default_timezone()
        self.now_ms, self.clock_ms = (now - _EPOCH) // timedelta(milliseconds=1), clock_ms
        self.stored_count = 0

    def read(self, sent):
        """Answer what cannot be read. `rows` holds the rest, as (record, row) by their place in the batch."""
        self.answers, self.rows, self.same = [None] * len(sent), {}, {}
        self.own = own_at(self.round)
        for place, item in enumerate(sent):
            try:
                record = read_record(item, self.own)
            except UnreadableRecord as error:
                uuid = item.get("uuid") if isinstance(item, dict) else None
                self.answers[place] = Answer(uuid[:40] if isinstance(uuid, str) else None, REFUSED, error.finding.said(_, local_value))
            else:
                self.rows[place] = (record, self.row(record))
                if self.link is not None and not record.observer:
                    self._refuse(place, _("Give your name on the first screen, then send again."))

    def row(self, record):
        on = day_in_zone(_EPOCH + timedelta(milliseconds=seen_ms(record, self.clock_ms, self.now_ms)), self.zone)
        on = min(on, timezone.localdate(self.now))  # the zone of the site may be a day ahead of the programme's
        note = note_with_clock(record.note, record.said) if record.said not in ("", on.isoformat()) else record.note
        return as_stored(
            CensusRow(
                round_id=self.round.pk, tree_id=record.tree, uuid=record.uuid, status=record.status, cause=record.cause, observed_on=on,
                note=note, observer=record.observer, **row_values((*MEASUREMENTS, *self.own), record.values),
            )
        )  # fmt: skip

    def sort_out(self):
        """Answer every record: those stored before, then the new ones, each correction after what it corrects."""
        self.stored = self._stored_by_uuid({uuid for record, _row in self.rows.values() for uuid in (record.uuid, record.corrects) if uuid})
        first = {}
        for place, (record, row) in self.rows.items():
            if self.answers[place] is not None:
                continue
            earlier = self.stored.get(record.uuid)
            if earlier is not None:
                corrected = earlier.supersedes.uuid if earlier.supersedes_id else None
                is_same = _said(earlier, corrected) == _said(row, record.corrects)
                self._answer_again(place, is_same and earlier.round_id == self.round.pk)
            elif record.uuid in first:
                self.same[place] = first[record.uuid]
            else:
                first[record.uuid] = place
        waiting = [place for place in self.rows if self.answers[place] is None and place not in self.same]
        while ready := [place for place in waiting if self.rows[place][0].corrects in {None, *self.stored}]:
            waiting = [place for place in waiting if place not in ready]
            self._store(self._corrections_checked(ready))
        for place in waiting:
            self._refuse(place, _("The record that this one corrects is not stored. Enter the tree again."))
        for place, of in self.same.items():
            (record, row), (first_record, first_row) = self.rows[place], self.rows[of]
            is_same = _said(row, record.corrects) == _said(first_row, first_record.corrects)
            if is_same and self.answers[of].result == REFUSED:
                self.answers[place] = self.answers[of]
            else:
                self._answer_again(place, is_same)

    def _stored_by_uuid(self, uuids):
        records = Observation.objects.filter(uuid__in=uuids).select_related("supersedes", "round")
        return {record.uuid: record for record in records}

    def _answer_again(self, place, is_same):
        if is_same:
            self.answers[place] = Answer(str(self.rows[place][0].uuid), KNOWN)
        else:
            self._refuse(place, _("A record with this identifier is already stored with other values. Correct that one."))

    def _refuse(self, place, reason):
        self.answers[place] = Answer(str(self.rows[place][0].uuid), REFUSED, reason)

    def _corrections_checked(self, places):
        """The rows to store by their place; each correction names the record that it supersedes."""
        corrected = {self.rows[place][0].corrects for place in places} - {None}
        done = set(Observation.objects.filter(supersedes__uuid__in=corrected).values_list("supersedes__uuid", flat=True))
        rows = {}
        for place in places:
            record, row = self.rows[place]
            earlier = self.stored[record.corrects] if record.corrects else None
            if earlier is None:
                rows[place] = row
            elif reason := self._correction_fault(row, earlier, done):
                self._refuse(place, reason)
            else:
                done.add(record.corrects)
                rows[place] = replace(row, supersedes_id=earlier.pk, reason=CORRECTED)
        return rows

    def _correction_fault(self, row, earlier, done):
        if (earlier.tree_id, earlier.round_id) != (row.tree_id, self.round.pk):
            return _("The record that this one corrects is of another tree or round. Enter the tree again.")
        if earlier.uuid in done:
            return _("The record is already corrected. Ask the coordinator to correct the newest one.")
        by_link = self.link is None or (earlier.entered_by_id == self.actor.pk and earlier.observer == row.observer)
        if not by_link or not may_correct(self.actor, earlier, row.observed_on):
            return _("You can correct your own records while the round is open. Ask the coordinator to correct this one.")
        return ""

    def _store(self, rows):
        """Store the rows that keep the rules of the census, and answer all of them."""
        while rows:
            places = list(rows)
            try:
                observations_record(actor=self.actor, rows=list(rows.values()), received_at=self.now, reason=str(self.link or ""))
            except CensusRefused as refused:
                for number, findings in refused.problems.items():
                    said = [finding.said(_, local_value) for finding in findings if finding.severity == ERROR]
                    self._refuse(places[number], " ".join(said))
                    del rows[places[number]]
            else:
                break
        for place, row in rows.items():
            self.answers[place] = Answer(str(row.uuid), STORED)
        self.stored |= self._stored_by_uuid({row.uuid for row in rows.values()})
        self.stored_count += len(rows)
