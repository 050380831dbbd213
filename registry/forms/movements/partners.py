from django import forms

from registry.forms.gate.code_lists import region_of
from registry.forms.shared.fields import RecordForm
from registry.models import Partner


class PartnerForm(RecordForm):
    groups = [
        ("Who they are", ("code", "name", "kind")),
        ("Where they are", ("region", "county")),
        ("Contact", ("contact_name", "email", "phone", "address", "consent_on")),
        ("Maps", ("map_privacy",)),
    ]

    class Meta:
        model = Partner
        fields = [
            "code",
            "name",
            "kind",
            "region",
            "county",
            "contact_name",
            "email",
            "phone",
            "address",
            "consent_on",
            "map_privacy",
            "note",
        ]
        widgets = {"map_privacy": forms.RadioSelect}
        help_texts = {
            "consent_on": "The day they agreed that we store their name and address.",
            "map_privacy": "Public maps are always generalised.",
        }

    def clean_region(self):
        return region_of(self.cleaned_data["region"])

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["map_privacy"].choices = Partner._meta.get_field("map_privacy").choices
