"""Boxes refuse a text, and the name of a file, with a sign in it that nobody sees."""

from django import forms
from django.utils.translation import gettext

from registry.calc.shared.hidden_signs import HIDDEN_SIGN, hidden_sign

__all__ = ["every_box_refuses_hidden_signs"]


def _refuse_in_text(value):
    if isinstance(value, str) and (found := hidden_sign(value)):
        raise forms.ValidationError(gettext(HIDDEN_SIGN) % found, code="hidden_sign")


def _refuse_in_name(upload):
    if found := hidden_sign(getattr(upload, "name", None) or "", one_line=True):
        words = gettext("The name of this file holds a sign that cannot be seen (%(sign)s, after “%(before)s”). Rename it.")
        raise forms.ValidationError(words % found, code="hidden_sign")


def every_box_refuses_hidden_signs():
    """Every box for a text or file, in whichever form, looks for them. Called once, when Mastbook starts."""
    for kind, validator in ((forms.CharField, _refuse_in_text), (forms.FileField, _refuse_in_name)):
        if validator not in kind.default_validators:
            kind.default_validators = [*kind.default_validators, validator]
