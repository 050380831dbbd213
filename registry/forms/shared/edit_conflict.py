"""Two people in one form: what a record said when its form was shown, and what somebody has changed since."""

import hashlib

from django import forms
from django.core import signing
from django.db import models
from django.utils.choices import flatten_choices
from django.utils.text import Truncator

from registry.calc.shared.part_dates import SomeDate
from registry.calc.shared.screen import day_words

__all__ = ["edit_conflict", "shown_token"]

_WORDS_LENGTH = 80
_WHAT_NOW = "What you typed is still here. Compare the two. Saving again overwrites the other change."


def shown_token(form):
    """A signed text for a hidden box: what every field of the form of a record says, as digests."""
    return signing.dumps(_digests(form), salt=_salt(form), compress=True)


def edit_conflict(form, token):
    """Why a valid form is not saved yet, in a sentence; "" when it would overwrite no change.

    Parameters
    ----------
    form : a bound form of a stored record, whose first values are read from the record as it is now
    token : what `shown_token` gave when the form was shown
    """
    try:
        shown = signing.loads(token, salt=_salt(form))
    except signing.BadSignature:
        return f"We cannot tell whether this record changed after you opened it. {_WHAT_NOW}"
    now = _digests(form)
    # a field that somebody changed to the same value as typed here is not a conflict
    changed = [name for name in form.changed_data if name in now and shown.get(name) != now[name]]
    if not changed:
        return ""
    words = "; ".join(f"{form[name].label} is now {_words(form, name)}" for name in changed)
    return f"This record was changed after you opened it: {words}. {_WHAT_NOW}"


def _salt(form):
    return f"as shown: {form.instance._meta.label_lower} {form.instance.pk}"


def _digests(form):
    """{field: digest of its first value}, without what a form fills in by itself, such as today."""
    shown = {name: field for name, field in form.fields.items() if name in form.initial or not callable(field.initial)}
    values = {name: _comparable(form.get_initial_for_field(field, name)) for name, field in shown.items()}
    return {name: hashlib.sha256(repr(value).encode()).hexdigest()[:16] for name, value in values.items()}


def _comparable(value):
    if isinstance(value, (list, tuple, models.QuerySet)):
        return [_comparable(part) for part in value]
    return "" if value is None else str(value.pk if isinstance(value, models.Model) else value)


def _words(form, name):
    """The value a record has now, as the list of the box or a person would write it."""
    field = form.fields[name]
    value = field.prepare_value(form.get_initial_for_field(field, name))
    if value in (None, "", []):
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, SomeDate):
        return f"{day_words(value)}"
    labels = {str(key): str(label) for key, label in flatten_choices(getattr(field, "choices", ()))}
    # a record the person may not see has no label here
    unknown = "another" if isinstance(field, forms.ModelChoiceField) else None
    parts = value if isinstance(value, list) else [value]
    text = ", ".join(labels.get(str(part), unknown or str(part)) for part in parts)
    return f"“{Truncator(text).chars(_WORDS_LENGTH)}”"
