"""Declared fields of a rule or a paper as facts of its page."""

from functools import partial

from registry.views.shared.sections import Fact


def declared_facts(fields, record):
    """A line for each field that is shown among the facts. `record` is a function of the page; None where nothing is on file."""
    return tuple(Fact(field.label, partial(_value, field, record)) for field in fields if field.place == "facts")


def _value(field, record, page):
    value = getattr(record(page), field.name, None)
    if field.codes:
        return field.words(value)
    return field.blank if value in (None, "") else value
