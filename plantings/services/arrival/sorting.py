"""Sorts the records of one kind in a batch of a phone: known, twice there, refused, to store; each correction after what it corrects.

What a record must satisfy, and how it is stored, is for the service of its kind. A record whose identifier is stored with the same
values is known, with other values it is refused.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from django.utils import timezone
from django.utils.translation import gettext as _

from plantings.calc.phone.clock import note_with_clock, seen_ms
from plantings.calc.phone.reading import UnreadableRecord
from plantings.models import CensusRound, Planting, RoundLink, SecondDraw
from plantings.selectors.census.records import may_correct
from plantings.selectors.census.round_links import came_by_link
from registry.calc.people.names import is_written_alike
from registry.calc.shared.marked import gettext_noop
from registry.compliance.duties.local_day import local_day as day_in_zone
from registry.compliance.duties.place_zones import zone_of
from registry.models import Person
from registry.selectors.shared.local_words import local_value

__all__ = ["ANSWERED", "CORRECTED", "KNOWN", "REFUSED", "STORED", "Answer", "Arrivals", "Batch"]

STORED, KNOWN, REFUSED = "stored", "known", "refused"
# why a record supersedes another: what somebody corrected on their own, and what the office asked about
CORRECTED, ANSWERED = gettext_noop("corrected on the phone"), gettext_noop("the answer to a question of the office")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Answer(NamedTuple):
    """What became of one record: its identifier as it was sent, one of `STORED`, `KNOWN`, `REFUSED`, and the reason of a refusal."""

    uuid: object
    result: str
    reason: str = ""


@dataclass(slots=True)
class Batch:
    """What all records of one batch share. `clock_ms` is what the clock of the phone said when it sent them; `before` are the links by
    which whoever sends has recorded too; `answers` go by place."""

    actor: Person
    round: CensusRound
    planting: Planting
    link: RoundLink | None
    clock_ms: int
    now: datetime
    draw: SecondDraw | None = None
    before: tuple[RoundLink, ...] = ()
    answers: dict = field(default_factory=dict)
    zone: ZoneInfo = field(init=False)

    def __post_init__(self):
        zone = zone_of(self.planting.site.jurisdiction)
        self.zone = ZoneInfo(zone) if zone else timezone.get_default_timezone()

    def moment(self, record):
        """When a record was made, by the clock of the server."""
        now_ms = (self.now - _EPOCH) // timedelta(milliseconds=1)
        return _EPOCH + timedelta(milliseconds=seen_ms(record, self.clock_ms, now_ms))

    def day(self, record):
        """The day of a record at its site; that of the site may be ahead of the programme's, which no record is."""
        return min(day_in_zone(self.moment(record), self.zone), timezone.localdate(self.now))

    def dated(self, record):
        """{observed_on, note}: a note also says which day the phone showed, where the day was worked out otherwise."""
        on = self.day(record)
        differs = record.said not in ("", on.isoformat())
        return {"observed_on": on, "note": note_with_clock(record.note, record.said) if differs else record.note}


class Arrivals:
    """The records of one kind. `rows` holds those that can be read, as (record, row) by their place in the batch.

    A kind says how one is read, what is stored of some identifiers, what a row says, what it is about, and how rows are stored.
    """

    about = ""  # the field of a row that names its tree or plot
    of_another = ""  # what is said where a correction is of another tree, plot or round

    def __init__(self, batch):
        self.batch, self.rows, self.same, self.places = batch, {}, {}, ()

    def read_all(self, items):
        """Read every item, given by its place, and refuse those that cannot be read; returns itself. Looks at no stored record."""
        self.places = tuple(items)
        for place, item in items.items():
            try:
                record, row = self.read(item)
            except UnreadableRecord as error:
                uuid = item.get("uuid") if isinstance(item, dict) else None
                answer = Answer(uuid[:40] if isinstance(uuid, str) else None, REFUSED, error.finding.said(_, local_value))
                self.batch.answers[place] = answer
            else:
                self.rows[place] = (record, row)
                if self.batch.link is not None and not record.observer:
                    self.refuse(place, _("Give your name on the first screen, then send again."))
        return self

    def take(self):
        """Answer every item that was read, under the lock of the planting; returns how many were stored."""
        self._sort_out()
        return sum(self.batch.answers[place].result == STORED for place in self.places)

    def read(self, item):
        """(record, row) of an item; raises UnreadableRecord."""
        raise NotImplementedError

    def find_stored(self, uuids):
        """The stored records with these identifiers, with their round and what they supersede."""
        raise NotImplementedError

    def corrected_by(self, stored):
        """The identifier of the record that a stored one corrects, or None."""
        return stored.supersedes.uuid if stored.supersedes_id else None

    def is_here(self, stored):
        """Whether a stored record is of the round of the batch."""
        return stored.round_id == self.batch.round.pk

    def subject(self, row):
        """The key of the tree or plot that a row or a stored record is about."""
        return getattr(row, self.about)

    def may_correct(self, earlier, row):
        """Whether whoever sent the batch may correct a stored record by a row."""
        return may_correct(self.batch.actor, earlier, row.observed_on)

    def said(self, row):
        """What a row or a stored record says, as far as it was typed: not the day that the server worked out."""
        raise NotImplementedError

    def asked_back(self, records):
        """The keys of those stored records that the office asked the crew to look at again: anybody of it may answer."""
        return set(type(records[0]).objects.asked_back().filter(pk__in=[record.pk for record in records]).values_list("pk", flat=True))

    def as_correction(self, row, earlier, reason):
        """The row, as a correction of a stored record, and why."""
        raise NotImplementedError

    def store(self, rows):
        """Store rows, given by their place, or `refuse` them. The batch answers that the others are stored."""
        raise NotImplementedError

    def refuse(self, place, reason):
        self.batch.answers[place] = Answer(str(self.rows[place][0].uuid), REFUSED, reason)

    def _sort_out(self):
        """Answer every record: those stored before, then the new ones, each correction after what it corrects."""
        answers, rows = self.batch.answers, self.rows
        self.stored = self._stored_by_uuid({uuid for record, _row in rows.values() for uuid in (record.uuid, record.corrects) if uuid})
        first = {}
        for place, (record, row) in rows.items():
            if place in answers:
                continue
            earlier = self.stored.get(record.uuid)
            if earlier is not None:
                is_same = self.said(earlier) == self.said(row) and self._corrects_the_same(earlier, record)
                self._answer_again(place, is_same and self.is_here(earlier))
            elif record.uuid in first:
                self.same[place] = first[record.uuid]
            else:
                first[record.uuid] = place
        waiting = [place for place in rows if place not in answers and place not in self.same]
        while ready := [place for place in waiting if rows[place][0].corrects in {None, *self.stored}]:
            waiting = [place for place in waiting if place not in ready]
            self._store(self._corrections_checked(ready))
        for place in waiting:
            self.refuse(place, _("The record that this one corrects is not stored. Enter the tree again."))
        for place, of in self.same.items():
            (record, row), (first_record, first_row) = rows[place], rows[of]
            is_same = (self.said(row), record.corrects) == (self.said(first_row), first_record.corrects)
            if is_same and answers[of].result == REFUSED:
                answers[place] = answers[of]
            else:
                self._answer_again(place, is_same)

    def _stored_by_uuid(self, uuids):
        return {record.uuid: record for record in self.find_stored(uuids)} if uuids else {}

    def _corrects_the_same(self, stored, record):
        """Also where the record came by a file after somebody else had corrected what it corrects, and is stored beside that correction."""
        corrected = self.corrected_by(stored)
        if corrected is None and record.corrects in self.stored:
            return self.find_corrections([self.stored[record.corrects]]).exists()
        return corrected == record.corrects

    def _answer_again(self, place, is_same):
        if is_same:
            self.batch.answers[place] = Answer(str(self.rows[place][0].uuid), KNOWN)
        else:
            self.refuse(place, _("A record with this identifier is already stored with other values. Correct that one."))

    def _corrections_checked(self, places):
        """The rows to store by their place; each correction names the record that it supersedes."""
        corrected = [self.stored[record.corrects] for record in (self.rows[place][0] for place in places) if record.corrects]
        done = {earlier.supersedes.uuid for earlier in self.find_corrections(corrected)} if corrected else set()
        asked = self.asked_back(corrected) if corrected else set()
        rows = {}
        for place in places:
            record, row = self.rows[place]
            earlier = self.stored[record.corrects] if record.corrects else None
            if earlier is None:
                rows[place] = row
            elif reason := self._correction_fault(row, earlier, done, asked):
                self.refuse(place, reason)
            else:
                done.add(record.corrects)
                rows[place] = self.as_correction(row, earlier, ANSWERED if earlier.pk in asked else CORRECTED)
        return rows

    def find_corrections(self, records):
        """The stored corrections of some records, with what they supersede."""
        return type(records[0])._default_manager.filter(supersedes__in=records).select_related("supersedes")

    def _correction_fault(self, row, earlier, done, asked):
        batch = self.batch
        if not self.is_here(earlier) or self.subject(earlier) != self.subject(row):
            return self.of_another
        if earlier.uuid in done:
            return _("The record is already corrected. Ask the coordinator to correct the newest one.")
        links = (batch.link, *batch.before)
        by_link = batch.link is None or (came_by_link(earlier, links) and is_written_alike(earlier.observer, row.observer))
        if earlier.pk not in asked and (not by_link or not self.may_correct(earlier, row)):
            return _("You can correct your own records while the round is open. Ask the coordinator to correct this one.")
        return ""

    def _store(self, rows):
        if not rows:
            return
        self.store(rows)
        kept = {place: row for place, row in rows.items() if place not in self.batch.answers}
        for place, row in kept.items():
            self.batch.answers[place] = Answer(str(row.uuid), STORED)
        # read again only for those that a later record of the batch corrects
        corrected = {record.corrects for record, _row in self.rows.values()}
        self.stored |= self._stored_by_uuid({row.uuid for row in kept.values()} & corrected)
