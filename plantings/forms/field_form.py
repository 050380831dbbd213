"""What a field form lists."""

from django import forms
from django.utils.translation import gettext, gettext_lazy

from plantings.selectors.field_form.pages import page_of_code
from registry import choices
from registry.forms.prints.issued import PageForm


class FieldFormForm(PageForm):
    trees = forms.ChoiceField(
        label=gettext_lazy("Trees"), initial="all",
        choices=(("all", gettext_lazy("every tree of the round")), ("missing", gettext_lazy("only trees without a record"))),
    )  # fmt: skip
    last = forms.BooleanField(
        label=gettext_lazy("Print what was seen last"), required=False,
        help_text=gettext_lazy("Whoever knows the last values measures less freely. Leave this off unless the crew needs them."),
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


class FilesField(forms.FileField):
    """Several files in one box."""

    def __init__(self, accept="", **kwargs):
        super().__init__(widget=_FilesBox(attrs={"multiple": True} | ({"accept": accept} if accept else {})), **kwargs)

    def clean(self, data, initial=None):
        return [super(FilesField, self).clean(file, initial) for file in data or [None]]


class _FilesBox(forms.FileInput):
    allow_multiple_selected = True


class FormScanForm(forms.Form):
    """Photos or scans of filled-in pages."""

    files = FilesField(
        accept="image/jpeg,image/png,application/pdf",
        label=gettext_lazy("Photos or scans"),
        help_text=gettext_lazy("JPG, PNG or PDF, at most 20 MiB each. Where a photo was taken is not stored."),
    )  # fmt: skip
    page_code = forms.CharField(
        label=gettext_lazy("Page code"), required=False, max_length=40,
        help_text=gettext_lazy("At the foot of the page. Leave it blank for a file with several pages."),
    )  # fmt: skip

    def __init__(self, *args, user, census_round, **kwargs):
        super().__init__(*args, **kwargs)
        self.user, self.census_round = user, census_round

    def clean_page_code(self):
        text = self.cleaned_data["page_code"].strip()
        if not text:
            return None
        page = page_of_code(self.user, text)
        if page is None or page.round_id != self.census_round.pk:
            raise forms.ValidationError(gettext("This is not the code of a page of this round. Compare it with the printed page."))
        return page

    def service_values(self):
        files = [(file.read(), file.name) for file in self.cleaned_data["files"]]
        return {"files": files, "page": self.cleaned_data["page_code"]}
