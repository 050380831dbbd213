"""That somebody read the cautions of a round, as a phone says it: stored once for a person, round and wording, never changed."""

import uuid
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings

from plantings.calc.phone.reading import read_cautions
from plantings.models import CautionsRead
from plantings.services.arrival.sorting import KNOWN, Answer, Arrivals
from registry.calc.people.names import is_same_name
from registry.choices import CautionTask
from registry.selectors.safety.cautions import known_versions
from registry.services.audit.trail import append_rows, audit_record
from registry.services.safety.cautions import cautions_read

__all__ = ["CautionArrivals"]


@dataclass(frozen=True, slots=True)
class _Reading:
    """One reading on its way in."""

    uuid: uuid.UUID
    name: str
    wording: str
    language: str
    versions: tuple
    read_at: datetime


class CautionArrivals(Arrivals):
    """Who read the cautions, in which wording. Neither is corrected: a person who reads again confirms another wording."""

    def read(self, item):
        record = read_cautions(item)
        language = record.language if record.language in dict(settings.LANGUAGES) else ""
        return record, _Reading(record.uuid, record.observer, record.wording, language, record.versions, self.batch.moment(record))

    def find_stored(self, uuids):
        return CautionsRead.objects.filter(uuid__in=uuids)

    def corrected_by(self, stored):
        return None

    def said(self, row):
        return (row.name, row.wording)

    def store(self, rows):
        batch = self.batch
        read = CautionsRead.objects.filter(round=batch.round, entered_by=batch.actor).values_list("name", "wording")
        known, real = set(read), known_versions({word for row in rows.values() for word in row.versions})
        new = []
        for place, row in rows.items():
            if (row.name, row.wording) in known:
                batch.answers[place] = Answer(str(row.uuid), KNOWN)
                continue
            known.add((row.name, row.wording))
            new.append(
                CautionsRead(
                    uuid=row.uuid, round=batch.round, name=row.name, link=batch.link, wording=row.wording, language=row.language,
                    versions=[word for word in row.versions if word in real], read_at=row.read_at, entered_by=batch.actor,
                    received_at=batch.now,
                )
            )  # fmt: skip
        for record in new:
            record.full_clean()
        append_rows(new)
        if new:
            changes = {"cautions read by": [None, [record.name for record in new]]}
            reason = str(batch.link or "")
            audit_record(actor=batch.actor, verb="censusround.cautions_read", obj=batch.round, changes=changes, reason=reason)
        own = [] if batch.link else [record for record in new if is_same_name(record.name, str(batch.actor))]
        for record in own:  # for the forms: they do not ask this person again
            read_here = {"versions": record.versions, "subject": str(batch.round), "language": record.language}
            cautions_read(actor=batch.actor, task=CautionTask.CENSUS, **read_here)
