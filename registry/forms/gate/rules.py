"""Forms of the rules: a rule, its verification, a class of material."""

from django import forms

from registry.forms.gate.code_lists import CodeListField, ManyCodes, declared_boxes
from registry.forms.shared.fields import PastDateField, RecordForm, day_box, reason_field
from registry.models import MaterialClass, Requirement
from registry.selectors.gate.code_lists import FORM_CODES, TAXON_NAMES
from registry.selectors.gate.declared_fields import grouped
from registry.selectors.gate.rule_fields import RULE_FIELDS

_BOXES = [field for field in RULE_FIELDS if field.group]


class RequirementForm(RecordForm):
    """A rule, with the boxes its table of fields declares."""

    reason = reason_field()
    groups = grouped(_BOXES)
    rarely = ("origins", "transits", "from_on", "until_on")
    vars().update(declared_boxes(_BOXES))

    class Meta:
        model = Requirement
        fields = [field.name for field in _BOXES]
        labels = {field.name: field.label for field in _BOXES}
        help_texts = {field.name: field.help for field in _BOXES}


class RequirementVerifyForm(forms.Form):
    verified_on = PastDateField(label="Asked on")
    verified_with = forms.CharField(label="Which authority, and who there", max_length=160)
    verified_by = forms.CharField(label="Asked by", max_length=80)
    review_by = forms.DateField(label="Ask again by", widget=day_box())


class VerificationCorrectForm(RequirementVerifyForm):
    reason = forms.CharField(label="Why it is corrected", max_length=200, help_text="The record it replaces stays on file.")


class MaterialClassForm(RecordForm):
    taxa = CodeListField(
        label="Species or genera", codes=TAXON_NAMES,
        help_text="For a class by taxon. A genus takes in all of it, a species its varieties, and each its hybrids.",
    )  # fmt: skip
    reason = reason_field()
    groups = [
        ("The class", ("code", "title", "rule", "source", "is_example")),
        ("Which lots it covers", ("taxa", "forms", "is_inherited", "declared_lots")),
    ]

    class Meta:
        model = MaterialClass
        fields = ["code", "title", "rule", "source", "is_example", "taxa", "forms", "is_inherited", "declared_lots", "note"]
        help_texts = {"rule": "By descent it follows from the pedigree."}
        widgets = {"declared_lots": forms.SelectMultiple({"size": 6})}

    # last: the name would hide Django's module from the lines above
    forms = ManyCodes(FORM_CODES.options, label="Forms of material")
