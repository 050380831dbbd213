"""What a field form lists."""

from django import forms
from django.utils.translation import gettext_lazy

from registry.forms.prints.issued import PageForm


class FieldFormForm(PageForm):
    trees = forms.ChoiceField(
        label=gettext_lazy("Trees"), initial="all",
        choices=(("all", gettext_lazy("every tree of the round")), ("missing", gettext_lazy("only trees without a record"))),
    )  # fmt: skip
    last = forms.BooleanField(
        label=gettext_lazy("Print what was seen last"), required=False, initial=True,
        help_text=gettext_lazy("Clear this box if the crew should not know the last values."),
    )  # fmt: skip
