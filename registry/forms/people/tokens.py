from django import forms
from django.utils import timezone

from registry.calc.shared.screen import day_words
from registry.forms.shared.fields import day_box
from registry.selectors.people.tokens import last_day


class TokenForm(forms.Form):
    """A token for one person."""

    purpose = forms.CharField(label="What it is for", max_length=80, help_text="Such as the name of the script, and where it runs.")
    ends_on = forms.DateField(label="Valid until", widget=day_box())

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["ends_on"].help_text = f"{day_words(last_day(timezone.localdate()))} at the latest."


class TokenRevokeForm(forms.Form):
    reason = forms.CharField(label="Reason for revoking it", max_length=200, required=False)
