"""What a field form lists."""

from django import forms
from django.utils.translation import gettext_lazy

from registry import choices
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
    language = forms.ChoiceField(
        label=gettext_lazy("Language of the form"), choices=choices.language_choices, required=False,
        help_text=gettext_lazy("The codes are the same in both."),
    )  # fmt: skip
    link = forms.BooleanField(
        label=gettext_lazy("Make a link for phones and print it as a QR code"), required=False,
        help_text=gettext_lazy("Whoever scans the code can record this round without an account, in your name."),
    )  # fmt: skip

    def __init__(self, *args, may_link, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["language"].optional_words = gettext_lazy("otherwise that of the crew")
        if not may_link:
            del self.fields["link"]
