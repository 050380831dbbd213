"""The form of planting tags: which trees, on which sheet."""

from django import forms
from django.core.exceptions import ValidationError

from registry.calc.shared.screen import amount_words
from registry.forms.prints.issued import LabelSheetForm

TAGS_MAX = 500  # a QR code takes some milliseconds to work out


class PlantingTagForm(LabelSheetForm):
    field_order = ("first", "last", "sheet", "start", "edges")
    first = forms.IntegerField(label="From walk number", min_value=1, initial=1)
    last = forms.IntegerField(
        label="To walk number", min_value=1, required=False, help_text=f"Blank for all; at most {TAGS_MAX} tags at once."
    )

    def __init__(self, *args, trees, **kwargs):
        super().__init__(*args, **kwargs)
        self.trees = trees

    def clean(self):
        data = super().clean()
        first, last = data.get("first"), data.get("last")
        if first is None or "last" in self.errors:
            return data
        if last and last < first:
            raise ValidationError({"last": f"{last} comes before {first}. Give the later number here."})
        chosen = self.trees.filter(walk_number__gte=first)
        chosen = chosen.filter(walk_number__lte=last) if last else chosen
        count = chosen.count()
        if not count:
            raise ValidationError({"first": "No living tree has these walk numbers. Check the list of trees of the planting."})
        if count > TAGS_MAX:
            raise ValidationError({"last": f"These are {amount_words(count, 'trees')}. Take at most {TAGS_MAX} at once."})
        return data | {"trees": chosen}
