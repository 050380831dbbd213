"""Forms of the material: taxa, pollen pools, trees of the pedigree."""

from django import forms
from django.core.exceptions import ValidationError

from registry import choices
from registry.calc.shared.record_keys import is_record_key
from registry.forms.gate.code_lists import CodeListField
from registry.forms.shared.fields import CodeField, GenerationForm, PastDateField, RecordForm, reason_field
from registry.models import PedigreeTree, PollenPool, Taxon
from registry.selectors.gate.code_lists import CLASS_CODES


class TaxonForm(RecordForm):
    class Meta:
        model = Taxon
        fields = ["name", "common_name", "hybrid_of", "role"]
        labels = {"role": "Its part in the programme"}
        help_texts = {"name": "Write a hybrid with the sign ×."}


class PollenPoolForm(RecordForm):
    outside_classes = CodeListField(
        label="Material classes outside pollen may carry", codes=CLASS_CODES,
        help_text="Their codes, such as that of regulated engineered trees nearby. Lots of the pool then “may contain” them.",
    )  # fmt: skip
    reason = reason_field()

    groups = [
        ("Where and when", ("code", "orchard", "block", "flowering_year", "flowered_on")),
        ("Pollen besides that of the members", ("outside_share", "outside_taxon", "outside_classes", "selfing_share")),
    ]

    class Meta:
        model = PollenPool
        fields = [
            "code", "orchard", "block", "flowering_year", "flowered_on", "outside_share", "outside_taxon", "outside_classes",
            "selfing_share", "note",
        ]  # fmt: skip
        labels = {"outside_share": "Outside pollen, as declared", "selfing_share": "Seed of the mother's own pollen, as declared"}
        help_texts = {
            "block": "Leave blank for all blocks.",
            "flowered_on": "Trees standing on this day are in the pool. Leave blank for 1 June.",
            "outside_share": "A share between 0 and 1: pollen from trees outside the block. Blank counts as none.",
            "outside_taxon": "The species the outside pollen counts as. Leave blank if it is not known.",
            "selfing_share": "A share between 0 and 1. A mother in the pool fathers her own seed through this share only.",
            "note": "Which trees had been rogued, and how that is known.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["outside_classes"].optional_words = "if any"

    def clean(self):
        cleaned = super().clean()
        year, day = cleaned.get("flowering_year"), cleaned.get("flowered_on")
        if year and day and day.year != year:
            self.add_error("flowered_on", f"The day is in {day.year}, but the pool flowered in {year}. Correct one of them.")
        if cleaned.get("outside_taxon") and not cleaned.get("outside_share"):
            self.add_error("outside_share", "A species of outside pollen is given. Give its share, or leave the species blank.")
        return cleaned


class PoolGatherForm(forms.Form):
    """The reason. `shown` repeats the trees that were listed, so that only these are added."""

    shown = forms.CharField(required=False, widget=forms.HiddenInput)
    reason = forms.CharField(label="Why it is changed", max_length=200, required=False, help_text="Recorded in the history.")

    def __init__(self, *args, needs_reason, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["reason"].required = needs_reason

    def clean_shown(self):
        keys = self.cleaned_data["shown"].split()
        if not all(map(is_record_key, keys)):
            raise ValidationError("Part of the list of trees was lost. Open this page again.")
        return [int(key) for key in keys]


class PoolMembersForm(forms.Form):
    """A weight and a tick for each member, and one tree to add. The boxes of a member are named by its tree."""

    added = CodeField(PedigreeTree, label="Tree to add", required=False, help_text="Its code.")
    added_weight = forms.DecimalField(label="Its weight", max_digits=7, decimal_places=4, required=False)
    basis = forms.CharField(
        label="How the weights are known",
        max_length=120,
        required=False,
        help_text="Such as male flowers counted, by whom. For the weights you change.",
    )
    reason = forms.CharField(
        label="Why it is changed", max_length=200, required=False, help_text="Recorded in the history with the old value."
    )

    def __init__(self, *args, members, needs_reason, **kwargs):
        super().__init__(*args, **kwargs)
        self.members = members
        self.fields["reason"].required = needs_reason
        for member in members:
            weight = forms.DecimalField(label=f"Weight of {member.tree.code}", max_digits=7, decimal_places=4, required=False)
            weight.initial = None if member.weight is None else f"{member.weight.normalize():f}"
            weight.widget.attrs["aria-label"] = weight.label
            self.fields[f"weight_{member.tree_id}"] = weight
            drop = forms.BooleanField(label=f"Take {member.tree.code} out", required=False)
            drop.widget.attrs["aria-label"] = drop.label
            self.fields[f"drop_{member.tree_id}"] = drop

    def rows(self):
        return [(member, self[f"weight_{member.tree_id}"], self[f"drop_{member.tree_id}"]) for member in self.members]

    def other_fields(self):
        return [self[name] for name in ("added", "added_weight", "basis", "reason")]

    def service_values(self):
        data = self.cleaned_data
        return {
            "weights": {member.tree_id: data[f"weight_{member.tree_id}"] for member in self.members},
            "removed": [member.tree_id for member in self.members if data[f"drop_{member.tree_id}"]],
            "added": (data["added"], data["added_weight"]) if data["added"] else None,
            "basis": data["basis"],
            "reason": data["reason"],
        }

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("added_weight") is not None and not cleaned.get("added") and "added" not in self.errors:
            self.add_error("added", "There is a weight but no tree. Give the code of the tree.")
        return cleaned


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
        ("Place", ("orchard", "block", "plot", "row", "position", "planted_year", "first_flowering_year")),
    ]
    rarely = ("generation_word", "plot", "first_flowering_year")

    class Meta:
        model = PedigreeTree
        fields = [
            "code", "taxon", "source_of_resistance", "recurrent_line", "mother", "father", "pollen_pool", "cross_type", "orchard",
            "block", "plot", "row", "position", "planted_year", "first_flowering_year", "regulated_engineered", "note",
        ]  # fmt: skip
        labels = {"regulated_engineered": "Regulated as genetically engineered"}


class TreeStatusForm(forms.Form):
    """Standing, rogued or dead, with the day and the reason: descendants still name the tree."""

    status = forms.ChoiceField(label="Status", choices=choices.tree_statuses, widget=forms.RadioSelect)
    status_on = PastDateField(
        label="Since",
        help_text="The day it was rogued, died, or was found standing. To correct a mistake, give the day of the mistaken step.",
    )
    status_reason = forms.CharField(
        label="Why", widget=forms.Textarea(attrs={"rows": 3}), help_text="The evidence: rating, genotype, form, what was seen."
    )
    stump_treated = forms.NullBooleanField(
        label="Stump treated",
        required=False,
        widget=forms.RadioSelect(choices=[("", "not known, or no stump"), ("true", "yes"), ("false", "no")]),
        help_text="Of a rogued tree. A stump that sprouts again still sheds pollen (common practice, no source).",
    )
    confirmed = forms.BooleanField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args, tree, **kwargs):
        super().__init__(*args, **kwargs)
        self.tree = tree
        self.fields["status"].initial = tree.status

    def asks_to_confirm(self):
        """The same answers, hidden, for the second step."""
        values = {name: self[name].value() for name in self.fields} | {"confirmed": "on"}
        form = TreeStatusForm(values, tree=self.tree)
        for field in form.fields.values():
            field.widget = forms.HiddenInput()
        return form

    def clean_status(self):
        status = self.cleaned_data["status"]
        dated = self.tree.status_on is not None or status == choices.TreeStatus.STANDING
        if status == self.tree.status and dated:
            raise ValidationError(f"The tree is already recorded as {self.tree.get_status_display()}.")
        return status
