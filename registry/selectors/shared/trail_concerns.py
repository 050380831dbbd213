"""What each kind of audit entry changes of the figures that a process holds (`held_answers`).

A kind is a record type, or a verb of it where one differs from the rest. A record type says what a change of any of its rows concerns, also
where the entry of that write names another record. A kind that is not declared concerns everything; the tests fail for one.
"""

from enum import Enum

__all__ = ["Concern", "concern_of", "parts_of_entries", "parts_read_by", "trail_concerns"]


class Concern(Enum):
    """What an entry concerns, besides every answer; NOTHING leaves these too."""

    NOTHING = "no figure"
    ANSWERS = "nothing that is held by part, or of lots"
    PARTS = "the parts that its record belongs to"
    LOTS = "what is held of lots and lineages"
    EVERYTHING = "everything that is held"


_concerns = {
    **dict.fromkeys(
        (
            # papers, duties, agreements
            "authorization", "authorizationdraw", "authorizationstaterecord", "authorizationversion", "paperdocument", "materialclass",
            "requirement", "ruleverification", "determination", "duty", "dutydone", "reportingclock", "incident", "incidentnotice",
            "calendarfeed", "remindersent", "agreementtext", "agreementsignature", "privatelink", "landnotice", "cautiontext",
            "cautionseen",
            # what is done with seed, and to mother trees
            "ledgerentry", "shipment", "shipmentline", "receipt", "receiptline", "leftover", "seedtest", "seedtestreplicate", "treatment",
            "storagerecord", "specieshandbook", "ratingscale", "rating", "selectiondecision", "decisionlink", "decisionagreement",
            "measuredshare", "identityevidence", "identityquestion", "issuedpaper", "lot.closed", "lot.reopened", "lot.evidence_entered",
            "lot.question_raised", "pedigreetree.evidence_entered", "pedigreetree.question_raised", "pollenpool.evidence_entered",
            "pollenpool.question_raised",
            # accounts, files, sheets, jobs
            "accesstoken", "passwordasked", "person.link_sent", "person.unlocked", "person.demo_loaded",
            "storedfile", "job", "columnmapping", "sheetupload", "load", "rowssettled", "loadwithdrawal", "withdrawnrow",
            "storedanswer", "auditentry",
            "audithead.backed_up", "audithead.exported",
        ),
        Concern.NOTHING,
    ),
    **dict.fromkeys(("person", "partner"), Concern.ANSWERS),
    **dict.fromkeys(
        ("taxon", "pollenpool", "pollenpoolmember", "pedigreetree", "treestatusrecord", "lot", "lotcomponent", "harvest"), Concern.LOTS
    ),
    **dict.fromkeys(("programmesetting", "audithead", "load.withdrawn"), Concern.EVERYTHING),
}  # fmt: skip
_read_parts = []


def trail_concerns(concerns):
    """{kind: Concern} of an app."""
    _concerns.update(concerns)


def parts_read_by(read):
    """An app's `read(record_type, keys)` gives the parts of records as {key of a record: set of parts}, without those it does not find."""
    _read_parts[:] = [read]


def concern_of(verb, record_type):
    """The Concern of an audit entry."""
    return _concerns.get(verb) or _concerns.get(record_type) or Concern.EVERYTHING


def parts_of_entries(records):
    """The parts of {record type: keys} together; None where the part of a record cannot be told, since it is gone."""
    found = set()
    for record_type, keys in records.items():
        parts = _read_parts[0](record_type, keys)
        if keys - parts.keys():
            return None
        found = found.union(*parts.values())
    return found
