"""Forms of the papers: what one says, the state it is in, its documents."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from registry import choices
from registry.forms.gate.code_lists import declared_boxes
from registry.forms.shared.fields import CodeField, PastDateField, RecordForm, day_box
from registry.models import Authorization, Partner
from registry.selectors.permits.as_of import last_version, state_on
from registry.selectors.permits.covers import COVERED, COVERS, LIMITS, SAYS


def names_in(group):
    """The boxes of what a paper covers that are under a heading of its form."""
    return tuple(field.name for field in COVERS if field.group == group)


class AuthorizationForm(RecordForm):
    """A paper and what it covers. What is changed in its wording becomes its next version."""

    partner = CodeField(
        Partner, label="Partner", required=False, suggest=100,
        help_text="With whom an agreement about land is made. Without it the gate cannot tell whether the land has been sold since.",
    )  # fmt: skip
    from_on = forms.DateField(
        label="Amendment in effect from", required=False, widget=day_box(),
        help_text="The day the amendment says. Left blank, it corrects a typing error, from the beginning.",
    )  # fmt: skip
    reason = forms.CharField(
        label="What is changed or amended, and why", max_length=200, help_text="What the paper said before stays on file."
    )
    groups = [
        ("The paper", ("code", "type", "title", "issuer", "issuer_reference", "issuer_contact", "partner", "state")),
        ("Who holds it", (
            "holder_body", "holder_person", "holder_account", "holder_address", "transferable", "one_consignment",
            "second_contact", "second_account",
        )),
        (SAYS, ("covers", "conditions", "cap_quantity", "cap_unit", *names_in(SAYS))),
        ("How long", ("starts_on", "ends_on")),
        (COVERED, names_in(COVERED)),
        ("Verified with the issuer", ("basis", "verified_on", "verified_by", "review_by")),
        ("What changes", ("from_on", "reason")),
    ]  # fmt: skip
    rarely = (
        "issuer_contact", "holder_account", "holder_address", "transferable", "one_consignment", "second_contact", "second_account", "lots",
        "origins", "transits", "sites", "people", "under",
    )  # fmt: skip

    class Meta:
        model = Authorization
        fields = [
            "code", "type", "title", "issuer", "issuer_reference", "issuer_contact", "partner", "state", "holder_body", "holder_person",
            "holder_account", "holder_address", "transferable", "one_consignment", "second_contact", "second_account", "covers",
            "conditions",
            "cap_quantity", "cap_unit", "starts_on", "ends_on", "basis", "verified_on", "verified_by", "review_by", "note",
        ]  # fmt: skip
        labels = {
            "cap_quantity": "Largest quantity it covers", "cap_unit": "Counted in", "holder_account": "Account of the holder",
            "second_account": "Account of the second contact", "verified_on": "Last checked with the issuer on",
            "verified_by": "Checked by", "review_by": "Ask again by", "transferable": "Continues when the holder leaves",
            "one_consignment": "Holds for one consignment only",
            "issuer_contact": "Contact at the issuer", "basis": "What it is based on",
        }  # fmt: skip
        help_texts = {
            "basis": "For a determination that no paper is needed: who was asked, and what was read.",
            "covers": "Type it word for word from the paper in hand: material, form, places, activities.",
            "conditions": "Also word for word.",
            "cap_unit": "Seeds or plants, as the paper says.",
            "state": "Expired means that no new shipment starts under it. Its duties continue.",
            "one_consignment": "Such as a phytosanitary certificate: once its shipment has left, it covers no other.",
            "transferable": "Many papers end when the person or the address changes. Tick only when the paper says that it continues.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        version = last_version(self.instance.versions.all()) if self.instance.pk else None
        if self.instance.pk and (now := state_on(self.instance.state_history.all(), timezone.localdate())):
            self.initial["state"] = now.state
        for name in LIMITS:
            self.fields[name].initial = getattr(version, name) if version else []
        if version is None:
            self.fields.pop("from_on")
            self.fields.pop("reason", None)

    def limits(self):
        """What it covers, by the names of a version."""
        return {name: self.cleaned_data[name] for name in LIMITS}

    def clean_cap_unit(self):
        unit = self.cleaned_data["cap_unit"].strip().lower()
        if unit and unit not in {"seeds", "plants"}:
            raise ValidationError("A cap is counted in seeds or in plants. Write one of the two, and put other words under the conditions.")
        return unit

    # last: one of the names would hide Django's module from the lines above
    vars().update(declared_boxes(COVERS))


class AuthorizationStateForm(forms.Form):
    state = forms.ChoiceField(label="State", choices=choices.authorization_states, widget=forms.RadioSelect)
    on = forms.DateField(label="From", widget=day_box(), help_text="A day in the future announces it. Until then the paper stays as it is.")
    reason = forms.CharField(label="Why", max_length=200, help_text="Such as the letter that says so.")


class DocumentForm(forms.Form):
    file = forms.FileField(label="The document", help_text="PDF, PNG, JPG or TXT, at most 20 MiB. It is stored unchanged.")
    title = forms.CharField(label="What it is", max_length=160)
    dated = PastDateField(label="Date on the document", required=False, initial=None)
