"""Forms of the papers: what one says, the state it is in, its documents."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.compliance.gate.words import ACTIVITIES
from registry.forms.gate.code_lists import CodeListField, ManyCodes, PlaceListField, known
from registry.forms.shared.fields import CodeField, PastDateField, RecordForm, day_box
from registry.models import Authorization, Lot, MaterialClass, Partner, Taxon
from registry.selectors.permits.as_of import state_on
from registry.services.permits.authorizations import LIMITS

_PLACES = "US, US-VT, US-VT/Chittenden, site:CODE or partner:CODE, each with “outside” before it when wanted; commas between."


def class_choices():
    return list(MaterialClass.objects.values_list("code", "title"))


class AuthorizationForm(RecordForm):
    """A paper and what it covers. What is changed in its wording becomes its next version."""

    partner = CodeField(Partner, label="Partner it is made with", required=False, suggest=100)
    classes = ManyCodes(class_choices, label="Material classes")
    forms_covered = ManyCodes(choices.material_forms, label="Forms of material")
    activities = ManyCodes(list(ACTIVITIES.items()), label="Activities")
    cap_activities = ManyCodes(
        [("dispatch", ACTIVITIES["dispatch"]), ("establish", ACTIVITIES["establish"])], label="What draws on the cap"
    )
    taxa = CodeListField(label="Species or genera", check=known(Taxon, "name"), help_text="Binomials as in the book.")
    lots = CodeListField(label="Lots", check=known(Lot), help_text="Their codes.")
    origins = PlaceListField(label="From", help_text=_PLACES)
    destinations = PlaceListField(label="To", help_text=_PLACES)
    transits = PlaceListField(label="By way of", help_text=_PLACES)
    sites = CodeListField(label="Sites", help_text="Codes of the sites it names.")
    people = CodeListField(label="People who act under it", help_text="Their names as the paper has them.")
    under = CodeListField(label="Issued under the rules", help_text="Codes of the rules kept here, when the paper names one.")
    from_on = forms.DateField(
        label="An amendment holds from", required=False, widget=day_box(),
        help_text="The day the amendment says. Left blank, it corrects what was typed wrongly, from the beginning.",
    )  # fmt: skip
    reason = forms.CharField(
        label="What is changed or amended, and why", max_length=200, help_text="What the paper said before stays in the book."
    )

    groups = [
        ("The paper", ("code", "type", "title", "issuer", "issuer_reference", "issuer_contact", "partner", "state")),
        ("Who holds it", (
            "holder_body", "holder_person", "holder_account", "holder_address", "transferable", "second_contact", "second_account",
        )),
        ("What it says", ("covers", "conditions", "cap_quantity", "cap_unit", "cap_activities")),
        ("How long", ("starts_on", "ends_on")),
        ("What it covers; a blank box or no tick sets no limit", (
            "activities", "classes", "forms_covered", "taxa", "lots", "origins", "destinations", "transits", "sites", "people", "under",
        )),
        ("Checked with the issuer", ("basis", "verified_on", "verified_by", "review_by")),
        ("What changes", ("from_on", "reason")),
    ]  # fmt: skip
    rarely = (
        "issuer_contact", "holder_account", "holder_address", "transferable", "second_contact", "second_account", "transits", "people",
        "under",
    )  # fmt: skip

    class Meta:
        model = Authorization
        fields = [
            "code", "type", "title", "issuer", "issuer_reference", "issuer_contact", "partner", "state", "holder_body", "holder_person",
            "holder_account", "holder_address", "transferable", "second_contact", "second_account", "covers", "conditions",
            "cap_quantity", "cap_unit", "starts_on", "ends_on", "basis", "verified_on", "verified_by", "review_by", "note",
        ]  # fmt: skip
        labels = {
            "cap_quantity": "Quantity it covers at most", "cap_unit": "Counted in", "holder_account": "Account of the holder",
            "second_account": "Account of the second contact",
        }  # fmt: skip
        help_texts = {
            "covers": "Type it from the paper in hand, word by word: material, form, places, activities.",
            "conditions": "Word by word as well.",
            "cap_unit": "Seeds or plants, as the paper says.",
            "state": "Expired means that no new shipment starts under it. Its duties run on.",
            "transferable": "Many papers end when the person or the address changes. Tick only when the paper says that it goes on.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        version = self.instance.versions.last() if self.instance.pk else None
        if self.instance.pk and (now := state_on(self.instance.state_history.all(), timezone.localdate())):
            self.initial["state"] = now.state
        for name in LIMITS:
            box = self.fields[_box(name)]
            box.initial = getattr(version, name) if version else []
        if version is None:
            self.fields.pop("from_on")
            self.fields.pop("reason", None)

    def limits(self):
        """What it covers, by the names of a version."""
        return {name: self.cleaned_data[_box(name)] for name in LIMITS}

    def clean_cap_unit(self):
        unit = self.cleaned_data["cap_unit"].strip().lower()
        if unit and unit not in {"seeds", "plants"}:
            raise ValidationError("A cap is counted in seeds or in plants. Write one of the two; keep other words in the conditions.")
        return unit


def _box(name):
    # "forms" is no name for a field of a form that is also read as a list of forms
    return "forms_covered" if name == "forms" else name


class AuthorizationStateForm(forms.Form):
    state = forms.ChoiceField(label="It is", choices=choices.authorization_states, widget=forms.RadioSelect)
    on = forms.DateField(label="From", widget=day_box(), help_text="A day to come announces it; until then the paper stays as it is.")
    reason = forms.CharField(label="Why", max_length=200, help_text="Such as the letter it rests on.")


class DocumentForm(forms.Form):
    file = forms.FileField(label="The document", help_text="PDF, PNG, JPG or TXT, at most 20 MiB. It is kept as it is.")
    title = forms.CharField(label="What it is", max_length=160)
    dated = PastDateField(label="Date on the document", required=False, initial=None)
