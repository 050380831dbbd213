"""Forms of a sheet of several kinds: sending it with its mapping file, what holds for all kinds, and the columns of one kind."""

import json
from collections import Counter

from django import forms

from plantings.forms.field_form import FilesField
from plantings.forms.sheets import MappingForm, SheetUploadForm, parse_more
from plantings.imports.combined.parts import sheet_parts
from plantings.imports.combined.second_sheets import SECOND_FILES, SECOND_SHEETS
from registry.imports.sheets.mapping import MORE_NAMES
from registry.imports.sheets.reading_options import SheetError

__all__ = ["CombinedForm", "CombinedUploadForm", "PartForm", "shared_text"]

_MAPPING_MAX = 1_000_000
_SHARED = (*MORE_NAMES, SECOND_SHEETS)  # what a mapping may say beside its parts, besides how the file is written


class CombinedUploadForm(SheetUploadForm):
    mapping = forms.FileField(
        label="Mapping file (JSON)", required=False,
        help_text="One that was written for sheets like this one. Without it you match the columns on the next page.",
    )  # fmt: skip

    second = FilesField(
        label="Second sheets, joined by a key", required=False,
        help_text="Files with more about the same sites, plots or trees, such as the points of the plots, where the mapping names them. "
        "Map files are read too.",
    )  # fmt: skip

    field_order = ["file", "second", "mapping"]

    def clean_second(self):
        files = [self.sized(file) for file in self.cleaned_data["second"] if file]
        if doubled := [name for name, count in Counter(file.name for file in files).items() if count > 1]:
            raise forms.ValidationError(f"Two of the files have the name {doubled[0]}. The mapping tells them by their names: rename one.")
        return files

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
        spec = {name: value for name, value in spec.items() if name != SECOND_FILES}
        try:
            sheet_parts(spec)
        except SheetError as error:
            raise forms.ValidationError(str(error)) from None
        return spec


class CombinedForm(forms.Form):
    """What holds for all kinds of the sheet, and a kind to add."""

    add = forms.ChoiceField(label="Add a kind", required=False)
    more = forms.CharField(
        label="For all kinds: rows, names of files, second sheets", required=False, widget=forms.Textarea(attrs={"rows": 3}),
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
            return parse_more(self.cleaned_data["more"], _SHARED)
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
    shared = {name: spec[name] for name in _SHARED if name in spec}
    return json.dumps(shared, ensure_ascii=False) if shared else ""
