"""Texts of the pure packages in the language of the reader."""

from django.utils.translation import get_language, gettext, ngettext

from registry.calc.shared.part_dates import SomeDate
from registry.calc.shared.worded import Amount, Typed, Worded
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count, local_day, local_value

__all__ = ["local_text"]


def local_text(text):
    """A text of the program: a `Worded` sentence or an `Amount` with its parts, any other as it is listed.

    What somebody typed is only a `Typed`: it is in the language of the reader where they typed it in that, else in English.
    """
    if isinstance(text, Worded):
        template = ngettext(text.template, text.plural, text.count) if text.plural else gettext(text.template)
        return template % {name: _part(value) for name, value in text.values.items()}
    if isinstance(text, Amount):
        return local_amount(text.count, text.unit)
    if isinstance(text, Typed):
        return text.others.get(get_language(), str(text))
    return gettext(text) if text else ""


def _part(value):
    if isinstance(value, (Worded, Amount, Typed)):
        return local_text(value)
    if isinstance(value, SomeDate):
        return local_day(value)
    return local_count(value) if isinstance(value, int) else local_value(value)
