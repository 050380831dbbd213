"""Audit entries in words, for the history of a record and for the list of all changes."""

import re

from registry.calc.shared.part_dates import read_some_date
from registry.calc.shared.screen import day_words
from registry.selectors.audit.record_hashes import HASHES

NOTHING = "nothing"
_SHOWN = 200
_ISO_DAY = re.compile(r"\d{4}-(0[1-9]|1[0-2])(-\d{2})?")
# What was done, as it reads after the name of who did it, by the part of a verb after the record type.
VERBS = {
    "added": "added it",
    "asked_for": "started it",
    "amended": "entered an amendment",
    "backed_up": "made a backup",
    "bulked": "mixed in a component",
    "cancelled": "cancelled it",
    "cautions_read": "read the cautions of a round",
    "census_recorded": "entered census records",
    "census_reviewed": "reviewed census records",
    "counts_reviewed": "reviewed counts of plots",
    "field_form_printed": "printed a field form with new pages",
    "form_scanned": "stored photos of the field form",
    "keyings_settled": "settled a page that two people keyed",
    "page_keyed_again": "keyed a page a second time",
    "recounted": "corrected its tallies by a recount",
    "self_sown_recorded": "noted self-sown seedlings",
    "changed": "changed it",
    "closed": "closed it",
    "corrected": "entered a correction",
    "corrected_what_was_done": "corrected what was entered as done",
    "boundary_set": "set the boundary",
    "demo_loaded": "loaded the demo data",
    "dispatched": "dispatched it",
    "document": "added a document",
    "drawn": "drew on its limit",
    "ended": "ended it, by the worker",
    "entered_as_done": "entered it as done",
    "exported": "exported all records",
    "entered_who_was_told": "entered who was told",
    "evidence_entered": "entered evidence of its identity",
    "file_put_back": "put its file back",
    "gathered": "added the trees in flower as members",
    "handed_out": "made the print",
    "handled": "entered what was done about it",
    "issued": "issued it",
    "kept": "saved the column names of a sheet",
    "line": "changed what is in it",
    "link_sent": "sent a link to set the password",
    "loaded": "loaded the sheet",
    "made": "made the link",
    "measured_again": "entered second measurements",
    "members_changed": "changed the members",
    "overridden": "overrode the stop of the gate",
    "password_set": "set the password",
    "put_back": "put it back into the lot it came from",
    "question_raised": "questioned its identity",
    "question_settled": "settled the question about its identity",
    "reopened": "opened it again",
    "replaced": "entered it in place of another tree",
    "result_given_out": "printed its result",
    "retagged": "gave it a new tag",
    "revoked": "revoked it",
    "rows_settled": "settled rows that were out",
    "started_again": "started it again",
    "sample_drawn": "drew the sample",
    "settled": "settled the question",
    "signed": "recorded the signature",
    "split": "split off a part",
    "state": "changed the state",
    "stored": "stored the answer of the gate",
    "taken_over": "took over the records of older versions",
    "trees_planted": "entered the trees planted",
    "unbulked": "took a component out",
    "verified": "checked it against its source",
    "corrected_verification": "corrected a verification",
    "confirmed": "confirmed it",
    "taken_back": "took it back",
    "unlocked": "unlocked the sign-in",
    "withdrawn": "withdrew it",
}


def verb_words(entry):
    """What was done, in words; a verb without words is shown as it is stored."""
    verb = entry.verb.split(".", 1)[-1]
    return VERBS.get(verb, verb.replace("_", " "))


def value_words(value, name=""):
    """A stored value as a person reads it: a list with commas, a day as 12 Oct 2026, 1,620, yes or no. A year has no comma."""
    if value in (None, "", []):
        return NOTHING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int) and "year" not in name:
        return f"{value:,}"
    if isinstance(value, list):
        return ", ".join(str(part) for part in value)
    if isinstance(value, str) and _ISO_DAY.fullmatch(value):
        return f"{day_words(read_some_date(value))}"
    said = str(value)
    return said if not isinstance(value, dict) or len(said) <= _SHOWN else f"{said[:_SHOWN]}…"  # such as the outline of a site


def change_lines(entry):
    """(field, before, after) of each field that reads differently; the hashes in an entry are for `verify`, not for a reader."""
    changes = ((name, pair) for name, pair in entry.changes.items() if name != HASHES)
    lines = [(name.replace("_", " "), value_words(before, name), value_words(after, name)) for name, (before, after) in changes]
    return [line for line in lines if line[1] != line[2]]


def changes_words(entry):
    """'state: draft → dispatched; …' as it was and as it became; what was blank before is named as it became."""
    return "; ".join(
        f"{name}: {after}" if before == NOTHING else f"{name}: {before} → {after}" for name, before, after in change_lines(entry)
    )
