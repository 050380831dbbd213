from registry.forms.fields import RecordForm, reason_field
from registry.models import Authorization


class AuthorizationForm(RecordForm):
    reason = reason_field()

    groups = [
        ("The paper", ("code", "type", "title", "issuer", "issuer_reference", "state")),
        ("Who holds it", ("holder_body", "holder_person")),
        ("What it says", ("covers", "conditions", "cap_quantity", "cap_unit")),
        ("How long", ("starts_on", "ends_on")),
    ]

    class Meta:
        model = Authorization
        fields = [
            "code", "type", "title", "issuer", "issuer_reference", "state", "holder_body", "holder_person", "covers", "conditions",
            "cap_quantity", "cap_unit", "starts_on", "ends_on", "note",
        ]  # fmt: skip
        labels = {"cap_quantity": "Quantity it covers at most", "cap_unit": "Counted in"}
        help_texts = {
            "covers": "Type it from the paper in hand, word by word: material, form, places, activities.",
            "conditions": "Word by word as well.",
            "cap_unit": "Seeds or plants, as the paper says.",
            "state": "Expired means that no new shipment starts under it. Its duties run on.",
        }
