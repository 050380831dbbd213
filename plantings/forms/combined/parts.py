"""Forms of a sheet of several kinds: sending it with its mapping file, what holds for all kinds, and the columns of one kind."""

import json

from django import forms

from plantings.forms.sheets import MappingForm, SheetUploadForm, mapping_initial, parse_more
from plantings.imports.combined.parts import sheet_parts
from registry.imports.sheets.mapping import MORE_NAMES
from registry.imports.sheets.table import SheetError

__all__ = ["CombinedForm", "CombinedUploadForm", "PartForm", "shared_text"]

_MAPPING_MAX = 1_000_000


class CombinedUploadForm(SheetUploadForm):
    mapping = forms.FileField(
        label="Mapping file (JSON)", required=False,
        help_text="One that was written for sheets like this one. Without it you match the columns on the next page.",
    )  # fmt: skip

    def clean_mapping(self):
        """The mapping as it is stored; {} without a file."""
        file = self.cleaned_data["mapping"]
        if file is None:
            return {}
        if file.size > _MAPPING_MAX:
            raise forms.ValidationError(f"{file.name} is larger than any mapping. Check which file it is.")
        try:
            spec = json.loads(file.read())
        except (ValueError, RecursionError) as error:
            raise forms.ValidationError(f"{file.name} is not JSON: {error}.") from None
        if not isinstance(spec, dict):
            raise forms.ValidationError(f'{file.name} must hold one JSON object with "parts".')
        try:
            sheet_parts(spec)
        except SheetError as error:
            raise forms.ValidationError(str(error)) from None
        return spec


class CombinedForm(forms.Form):
    """What holds for all kinds of the sheet, and a kind to add."""

    add = forms.ChoiceField(label="Add a kind", required=False)
    more = forms.CharField(
        label="For all kinds: rows and names of files", required=False, widget=forms.Textarea(attrs={"rows": 3}),
        help_text='As in a mapping file: {"rows": [{"column": "Tag", "blank": false}]} uses the rows with a tag. '
        "Help → A mapping of columns has an example of each part.",
    )  # fmt: skip
    name = forms.CharField(
        label="Save this mapping as", max_length=60, required=False,
        help_text="A name to find it by next year. Blank: it is used only once.",
    )  # fmt: skip

    def __init__(self, *args, kinds=(), **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["add"].choices = [("", "choose"), *kinds]

    def clean_more(self):
        try:
            return parse_more(self.cleaned_data["more"])
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class PartForm(MappingForm):
    """The columns of one kind. The mapping as a whole has the name."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        del self.fields["name"]

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not self.columns():
            self.add_error(None, "No column is chosen. Choose one for each of ours that this sheet has, or go back and leave the kind out.")
        return cleaned


def shared_text(spec):
    """What a mapping says for all kinds, as its box shows it."""
    return mapping_initial({name: spec[name] for name in MORE_NAMES if name in spec} | {"columns": {}}, {})["more"]
