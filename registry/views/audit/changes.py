"""Audit entries in words, for the history of a record and for the list of all changes."""

import datetime
import re

from registry.calc.shared.screen import day_words
from registry.selectors.audit.record_hashes import HASHES

_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_VERBS = {"line": "changed what is in it", "link_sent": "sent a link to set the password"}


def verb_words(entry):
    """What was done: the part of the verb after the record type."""
    verb = entry.verb.split(".", 1)[-1]
    return _VERBS.get(verb, verb.replace("_", " "))


def value_words(value):
    """A stored value as a person reads it: a list with commas, a day as 12 Oct 2026, yes or no."""
    if value in (None, "", []):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(str(part) for part in value)
    if isinstance(value, str) and _ISO_DAY.fullmatch(value):
        return f"{day_words(datetime.date.fromisoformat(value))}"
    return str(value)


def change_lines(entry):
    """(field, before, after) of each field that changed; the hashes in an entry are for `verify`, not for a reader."""
    changes = ((name, pair) for name, pair in entry.changes.items() if name != HASHES)
    return [(name.replace("_", " "), value_words(before), value_words(after)) for name, (before, after) in changes]
