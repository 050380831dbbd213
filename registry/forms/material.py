"""Forms of the material: taxa, pollen pools, trees of the pedigree."""

from django import forms
from django.core.exceptions import ValidationError

from registry import choices
from registry.forms.fields import CodeField, GenerationForm, PastDateField, RecordForm, reason_field
from registry.models import PedigreeTree, PollenPool, Taxon


class TaxonForm(RecordForm):
    class Meta:
        model = Taxon
        fields = ["name", "common_name", "role"]
        labels = {"role": "Its part in the programme"}
        help_texts = {"name": "Write a hybrid with the sign ×."}


class PollenPoolForm(RecordForm):
    reason = reason_field()

    class Meta:
        model = PollenPool
        fields = ["code", "orchard", "block", "flowering_year", "outside_share", "note"]
        labels = {"outside_share": "Outside pollen, as declared"}
        help_texts = {
            "outside_share": "A share between 0 and 1: pollen from trees outside the block. Leave blank if nobody declared one.",
            "note": "Which trees stood and flowered, which had been rogued.",
        }


class PedigreeTreeForm(GenerationForm):
    mother = CodeField(PedigreeTree, label="Mother tree", required=False, help_text="Its code.")
    father = CodeField(
        PedigreeTree, label="Father tree", required=False, help_text="Its code. For open pollination give the pollen pool instead."
    )
    pollen_pool = CodeField(PollenPool, label="Pollen pool", required=False, suggest=100)
    reason = reason_field()

    groups = [
        (
            "What it is",
            ("code", "taxon", "generation", "generation_word", "source_of_resistance", "recurrent_line", "regulated_engineered"),
        ),
        ("Parents", ("mother", "father", "pollen_pool", "cross_type")),
        ("Where it stands", ("orchard", "block", "plot", "row", "position", "planted_year")),
    ]

    class Meta:
        model = PedigreeTree
        fields = [
            "code", "taxon", "source_of_resistance", "recurrent_line", "mother", "father", "pollen_pool", "cross_type", "orchard",
            "block", "plot", "row", "position", "planted_year", "regulated_engineered", "note",
        ]  # fmt: skip
        labels = {"regulated_engineered": "Regulated as genetically engineered"}


class TreeStatusForm(forms.Form):
    """Standing, rogued or dead: with the day and the reason, since descendants go on pointing at the tree."""

    status = forms.ChoiceField(label="Status", choices=choices.tree_statuses, widget=forms.RadioSelect)
    status_on = PastDateField(label="Since", help_text="The day it was rogued, died, or was found standing.")
    status_reason = forms.CharField(
        label="Why", widget=forms.Textarea(attrs={"rows": 3}), help_text="The evidence: rating, genotype, form, what was seen."
    )

    def __init__(self, *args, tree, **kwargs):
        super().__init__(*args, **kwargs)
        self.tree = tree
        self.fields["status"].initial = tree.status

    def clean_status(self):
        status = self.cleaned_data["status"]
        if status == self.tree.status:
            raise ValidationError(f"The tree is {self.tree.get_status_display()} in the book already.")
        return status
