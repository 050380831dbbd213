"""Forms of the rules: a rule, its verification, a class of material."""

from django import forms
from django.core.exceptions import ValidationError

from registry import choices
from registry.compliance.gate.words import ACTIVITIES
from registry.forms.gate.code_lists import CodeListField, ManyCodes, PlaceListField
from registry.forms.permits.authorizations import class_choices
from registry.forms.shared.fields import PastDateField, RecordForm, day_box, reason_field
from registry.models import MaterialClass, Requirement

_PLACES = "US, US-VT, US-VT/Chittenden, site:CODE or partner:CODE, each with “outside” before it when wanted; commas between."


class PaperSetsField(forms.CharField):
    """Papers a rule asks for: a line for each, the types that do between them by “or”."""

    widget = forms.Textarea

    def prepare_value(self, value):
        return "\n".join(" or ".join(kinds) for kinds in value) if isinstance(value, list) else value

    def to_python(self, value):
        if isinstance(value, list):
            return value
        names = {label.lower(): code for code, label in choices.authorization_types()}
        codes = {code for code, _label in choices.authorization_types()}
        sets = []
        for number, line in enumerate(super().to_python(value).splitlines(), start=1):
            words = [word.strip().lower() for word in line.split(" or ") if word.strip()]
            unknown = [word for word in words if word not in codes and word not in names]
            if unknown:
                raise ValidationError(f"Line {number}: “{unknown[0]}” is no type of paper. Types are: {', '.join(sorted(codes))}.")
            if words:
                sets.append([word if word in codes else names[word] for word in words])
        return sets

    def has_changed(self, initial, data):
        return (initial or []) != self.to_python(data)

    def run_validators(self, value):
        """The checks of a text box speak of one text, not of a list."""


class RequirementForm(RecordForm):
    activities = ManyCodes(list(ACTIVITIES.items()), label="Activities")
    classes = ManyCodes(class_choices, label="Material classes")
    forms_meant = ManyCodes(choices.material_forms, label="Forms of material")
    taxa = CodeListField(label="Species or genera", help_text="Binomials, or a genus alone for all of it.")
    origins = PlaceListField(label="From", help_text=_PLACES)
    destinations = PlaceListField(label="To", help_text=_PLACES)
    transits = PlaceListField(label="By way of", help_text=_PLACES)
    any_of = PaperSetsField(
        label="Papers needed", required=False,
        help_text="One line for each paper that is needed, with “or” between types of which one does: permit or none_needed. "
        "Left blank, no paper answers it: it is a notice, or it stops what it is about.",
    )  # fmt: skip
    reason = reason_field()

    groups = [
        ("The rule", ("code", "edition", "title", "text", "source", "is_example")),
        ("What it is about; a blank box or no tick means all", (
            "activities", "classes", "forms_meant", "taxa", "origins", "destinations", "transits", "from_on", "until_on",
        )),
        ("What it asks for", ("any_of", "blocking")),
    ]  # fmt: skip
    rarely = ("transits", "from_on", "until_on")

    class Meta:
        model = Requirement
        fields = [
            "code", "edition", "title", "text", "source", "is_example", "activities", "classes", "taxa", "origins", "destinations",
            "transits", "from_on", "until_on", "any_of", "blocking",
        ]  # fmt: skip
        help_texts = {
            "source": "Where it was read: the text, its part and its date.",
            "text": "What it asks for, in the programme's own words. What is allowed is for the authority to say.",
            "edition": "Such as the year or the date of the text. A text that changes is a new edition.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["forms_meant"].initial = self.instance.forms

    def clean(self):
        cleaned = super().clean()
        # "forms" would be no name for a field of a form
        self.instance.forms = cleaned.get("forms_meant", [])
        return cleaned


class RequirementVerifyForm(forms.Form):
    verified_on = PastDateField(label="Asked on")
    verified_with = forms.CharField(label="Which authority, and who there", max_length=160)
    verified_by = forms.CharField(label="Who asked", max_length=80)
    review_by = forms.DateField(label="To be asked again by", widget=day_box())


class MaterialClassForm(RecordForm):
    taxa = CodeListField(label="Species or genera", help_text="For a class by taxon: binomials, or a genus alone.")
    forms_meant = ManyCodes(choices.material_forms, label="Forms of material")
    reason = reason_field()

    groups = [
        ("The class", ("code", "title", "rule", "source", "is_example")),
        ("Which lots it takes in", ("taxa", "forms_meant", "is_inherited", "declared_lots")),
    ]

    class Meta:
        model = MaterialClass
        fields = ["code", "title", "rule", "source", "is_example", "taxa", "is_inherited", "declared_lots", "note"]
        help_texts = {"rule": "By descent it follows the pedigree; nobody has to remember it."}
        widgets = {"declared_lots": forms.SelectMultiple({"size": 6})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["forms_meant"].initial = self.instance.forms

    def clean(self):
        cleaned = super().clean()
        self.instance.forms = cleaned.get("forms_meant", [])
        rule = cleaned.get("rule")
        if rule == choices.ClassRule.TAXON and not cleaned.get("taxa"):
            self.add_error("taxa", "A class by species or genus needs at least one of them.")
        if rule == choices.ClassRule.FORM and not cleaned.get("forms_meant"):
            self.add_error("forms_meant", "A class by form needs at least one form.")
        return cleaned
