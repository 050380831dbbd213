"""Forms of the cautions: a wording and its version, taking one out of use."""

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from registry import choices
from registry.access.languages import OTHER_LANGUAGES
from registry.forms.gate.code_lists import CodeListField
from registry.forms.shared.fields import day_box
from registry.forms.shared.filters import FilterForm, pick, words
from registry.selectors.safety.cautions import CAUTION_WORDS

MONTHS = [
    (1, "January"), (2, "February"), (3, "March"), (4, "April"), (5, "May"), (6, "June"), (7, "July"), (8, "August"),
    (9, "September"), (10, "October"), (11, "November"), (12, "December"),
]  # fmt: skip


class CautionForm(forms.Form):
    """A caution, or its next version. Earlier versions stay on file."""

    code = forms.CharField(label="Code", max_length=40, help_text="Short, such as TICKS.")
    hazard = forms.CharField(label="Hazard", max_length=80)
    text = forms.CharField(
        label="The usual caution", widget=forms.Textarea(attrs={"rows": 4}),
        help_text="What careful people do. Never write that something is allowed.",
    )  # fmt: skip
    decider = forms.CharField(label="Who decides locally", max_length=120, help_text="Such as the crew lead, or the holder of the permit.")
    hazard_fr = forms.CharField(label="Hazard in French", max_length=80, required=False)
    text_fr = forms.CharField(
        label="The usual caution in French", widget=forms.Textarea(attrs={"rows": 4}), required=False,
        help_text="Without the three French boxes a page in French shows the English, marked as English.",
    )  # fmt: skip
    decider_fr = forms.CharField(label="Who decides locally, in French", max_length=120, required=False)
    task = forms.ChoiceField(label="For the task", choices=choices.caution_tasks)
    months = forms.TypedMultipleChoiceField(
        label="Months it applies to", choices=MONTHS, coerce=int, required=False, widget=forms.CheckboxSelectMultiple,
        help_text="None ticked: all year.",
    )  # fmt: skip
    site_codes = CodeListField(label="Sites it applies to", help_text="Codes with commas between. Blank: everywhere.")
    in_use_from = forms.DateField(label="In use from", initial=timezone.localdate, widget=day_box())
    source = forms.CharField(label="Source", max_length=300, help_text="Body, title and date, or “common practice, no source”.")

    groups = [
        ("The caution", ("code", "hazard", "text", "decider")),
        ("In French", ("hazard_fr", "text_fr", "decider_fr")),
        ("When it is shown", ("task", "months", "site_codes", "in_use_from")),
        ("Where it comes from", ("source",)),
    ]


class CautionVersionForm(CautionForm):
    """The next version of a caution: its code stays. A changed English text asks whether the French still says the same."""

    code = None
    is_compared = forms.BooleanField(
        label="I compared: the French says the same as the English", required=False,
        help_text="Only needed where the English changes and the French stays.",
    )  # fmt: skip
    reason = forms.CharField(label="What changes, and why", max_length=200)

    groups = [
        ("The caution", ("hazard", "text", "decider")),
        ("In French", ("hazard_fr", "text_fr", "decider_fr", "is_compared")),
        *CautionForm.groups[2:],
        ("What changes", ("reason",)),
    ]

    def clean(self):
        cleaned = super().clean()
        is_compared = cleaned.pop("is_compared", False)
        for name in CAUTION_WORDS:
            for language in OTHER_LANGUAGES:
                local = f"{name}_{language}"
                stays = cleaned.get(local) and cleaned[local] == self.initial.get(local)
                if stays and cleaned.get(name) not in (None, self.initial.get(name)) and not is_compared:
                    self.add_error(local, "The English changes and this does not. Change it too, or tick that it still says the same.")
        return cleaned


class CautionWithdrawForm(forms.Form):
    on = forms.DateField(label="Withdrawn from", widget=day_box())
    reason = forms.CharField(label="Why", max_length=200)


class CautionFilters(FilterForm):
    task = pick(_("cautions for"), _("any task"), choices.caution_tasks)
    text = words(_("with the words"), ("hazard", "text", "hazard_fr", "text_fr", "code"))

    exact = {"task": "task"}
