"""Forms of the prints: the page size, or the label sheet."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from registry import choices
from registry.forms.shared.filters import FilterForm, pick, words
from registry.prints.label_sheets import SHEETS

CONTAINERS_MAX = 250
_TRIAL = "First print one page on plain paper at 100 %, not “fit to page”, and lay it over the label sheet to check."


class PageForm(forms.Form):
    page = forms.ChoiceField(
        label=gettext_lazy("Page"),
        choices=(("letter", gettext_lazy("Letter, 8.5 × 11 in")), ("a4", gettext_lazy("A4, 210 × 297 mm"))),
    )


class LanguagePageForm(PageForm):
    language = forms.ChoiceField(label=gettext_lazy("Language"), choices=choices.language_choices, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["language"].optional_words = gettext_lazy("otherwise that of the reader")


class LabelSheetForm(forms.Form):
    """Which sheet, and which of its labels comes first."""

    sheet = forms.ChoiceField(label="Label sheet", choices=[(sheet.key, sheet.name) for sheet in SHEETS.values()], help_text=_TRIAL)
    start = forms.IntegerField(
        label="First label to print on", min_value=1, initial=1,
        help_text="1 is the upper left. On a partly used sheet, count along the rows.",
    )  # fmt: skip
    edges = forms.BooleanField(label="Draw the edges of the labels", required=False, help_text="For a test print, or to cut by hand.")

    def clean_sheet(self):
        return SHEETS[self.cleaned_data["sheet"]]

    def clean(self):
        data = super().clean()
        sheet, start = data.get("sheet"), data.get("start")
        if sheet and start and start > sheet.count:
            raise ValidationError({"start": f"This sheet has {sheet.count} labels. Enter 1 to {sheet.count}."})
        return data


class ContainerLabelForm(LabelSheetForm):
    field_order = ("containers", "sheet", "start", "edges")
    containers = forms.IntegerField(
        label="Containers", min_value=1, max_value=CONTAINERS_MAX, initial=1, help_text="Two labels for each, one inside and one outside."
    )  # fmt: skip


class IssuedPrintFilters(FilterForm):
    kind = pick("prints", "of any kind", choices.issued_kinds)
    lot = words("of lot", ("lots__code",))
    shipment = words("of shipment", ("shipments__code",))
    exact = {"kind": "kind"}

    def narrow(self, queryset):
        return super().narrow(queryset).distinct()
