"""What counts against the cap of a paper besides shipments and plantings: given back, and used before these records began."""

from django import forms

from registry.forms.shared.fields import CodeField, PastDateField
from registry.models import Lot


class GiveBackForm(forms.Form):
    lot = CodeField(Lot, label="Lot", help_text="Its code.")
    quantity = forms.IntegerField(label="Quantity given back", min_value=1)
    on = PastDateField(label="On")
    subject = forms.CharField(label="Shipment or planting it was drawn for", max_length=60)
    reason = forms.CharField(
        label="Why, and where the paper says it counts this way",
        max_length=200,
        help_text="If the paper does not say, ask its issuer first.",
    )


class OpeningForm(forms.Form):
    quantity = forms.IntegerField(label="Quantity used before", min_value=1)
    on = PastDateField(label="Counted up to")
    reason = forms.CharField(
        label="Where the figure comes from", max_length=200, help_text="Such as the last report to the issuer, with its date."
    )
