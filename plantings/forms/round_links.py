"""A link to record one round without an account."""

from django import forms
from django.utils import timezone

from registry.forms.shared.fields import day_box


class RoundLinkForm(forms.Form):
    for_whom = forms.CharField(
        label="For whom", max_length=120, help_text="Such as the crew or the school. Each person gives their own name on the phone."
    )
    ends_on = forms.DateField(label="Last day", required=False, widget=day_box(), help_text="Blank: the last day of the window.")
    shows_place = forms.BooleanField(
        label="Show the exact place and the way in", required=False,
        help_text="Without it the page names the site, its cautions and whom to call, but not where it is.",
    )  # fmt: skip

    def __init__(self, *args, census_round, **kwargs):
        super().__init__(*args, **kwargs)
        self.census_round = census_round

    def clean(self):
        values = super().clean()
        if "ends_on" in values and not values["ends_on"] and self.census_round.closes_on < timezone.localdate():
            self.add_error("ends_on", "The window of this round has passed. Enter the last day of the link.")
        return values
