"""Forms of identity: evidence, a question, its settlement."""

from django import forms

from registry import choices
from registry.forms.shared.fields import PastDateField
from registry.forms.shared.filters import FilterForm, pick


class EvidenceForm(forms.Form):
    kind = forms.ChoiceField(label="What was checked", choices=choices.evidence_kinds, widget=forms.RadioSelect)
    outcome = forms.ChoiceField(label="The evidence", choices=choices.evidence_outcomes, widget=forms.RadioSelect)
    on = PastDateField(label="On", help_text="The day it was checked, or the day of the laboratory report.")
    by = forms.CharField(label="By", max_length=80)
    text = forms.CharField(label="What was seen", widget=forms.Textarea(attrs={"rows": 3}))
    reference = forms.CharField(label="Sample or report number", max_length=80, required=False)


class QuestionForm(forms.Form):
    raised_on = PastDateField(label="In question since", help_text="The day the doubt came up.")
    reason = forms.CharField(
        label="Why", widget=forms.Textarea(attrs={"rows": 3}), help_text="What does not fit. The sheet for letters shows it."
    )


class SettleForm(forms.Form):
    """Two steps: what was found, then what that changes, read and confirmed."""

    outcome = forms.ChoiceField(label="The identity is", choices=choices.settlements, widget=forms.RadioSelect)
    text = forms.CharField(
        label="How it was settled",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What was found, on what evidence, and which record was changed.",
    )
    on = PastDateField(label="Settled on")
    confirmed = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def asks_to_confirm(self):
        """The same answers, hidden, for the second step."""
        values = {name: self[name].value() for name in self.fields} | {"confirmed": "on"}
        form = SettleForm(values)
        for field in form.fields.values():
            field.widget = forms.HiddenInput()
        return form


class QuestionFilters(FilterForm):
    state = pick("questions", "open and settled", [("open", "open"), ("settled", "settled")])

    def narrow(self, queryset):
        state = self.cleaned_data["state"]
        return queryset.filter(settled_on__isnull=state == "open") if state else queryset
