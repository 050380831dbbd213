"""Forms of the movements: shipment, its lines, dispatch, receipt."""

from django import forms
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext_lazy

from registry import choices
from registry.choices import AuthorizationState, ShipmentState
from registry.forms.gate.code_lists import DONE_BY_HELP, CodeListField, WayListField, origin_of
from registry.forms.lots.lots import holding
from registry.forms.shared.fields import CodeField, PastDateField, Picker, RecordForm, WholeNumberField
from registry.models import Authorization, Lot, Receipt, Shipment
from registry.selectors.gate.code_lists import PAPER_CODES
from registry.selectors.movements.site_land import site_land
from registry.selectors.permits.as_of import with_state_on

_COUNTS = (("sound", gettext_lazy("Sound")), ("sprouted", gettext_lazy("Sprouted")), ("spoiled", gettext_lazy("Spoiled")))

RECEIVING_PERSON = gettext_lazy("Receiving person")


class ShipmentForm(RecordForm):
    authorizations = forms.ModelMultipleChoiceField(
        Authorization.objects.all(), label="Papers that travel with it", required=False, widget=Picker(),
        help_text="Papers to put in the box. The shipment's page shows what the rules ask for.",
    )  # fmt: skip

    transit_regions = WayListField(
        label="By way of", help_text="Countries, subdivisions or counties it passes through, such as US-NY, with commas between."
    )

    done_by = CodeListField(label="Who sends it", help_text=DONE_BY_HELP)
    rarely = ("origin_region", "transit_regions", "done_by")

    class Meta:
        model = Shipment
        fields = [
            "code", "receiver", "receiving_person", "site_code", "planned_on", "arrives_on", "origin_region", "transit_regions", "done_by",
            "carrier", "handling", "authorizations", "note",
        ]  # fmt: skip
        labels = {"code": "Shipment", "handling": "Handling line", "origin_region": "Leaves from", "receiving_person": RECEIVING_PERSON}
        help_texts = {
            "planned_on": "A Monday to Wednesday without frost in the forecast, so that no box waits over a weekend (common practice).",
            "handling": "Printed on the packing list.",
            "arrives_on": "Papers must hold until then. Blank: the day it leaves.",
            "receiving_person": "A named person. Nothing is dispatched without one.",
            "origin_region": "Such as US-VT, or US-VT/Chittenden with its county. Blank: the place in the programme settings.",
        }

    def clean_site_code(self):
        """The code of a site on file. One that is on the draft from before stays, and the gate then knows nothing of the place."""
        code = self.cleaned_data["site_code"].strip()
        if not code or (self.instance.pk and code == self.instance.site_code):
            return code
        if (land := site_land(code)) is None:
            raise forms.ValidationError(f"No site “{code}” is on file. Check the code, enter the site first, or leave this blank.")
        return land.place.site

    def clean_origin_region(self):
        return origin_of(self.cleaned_data["origin_region"])

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["done_by"].optional_words = "if a paper names people"
        attached = self.instance.authorizations.values("pk") if self.instance.pk else Authorization.objects.none().values("pk")
        papers = with_state_on(Authorization.objects.all(), timezone.localdate())
        papers = papers.filter(~Q(state_then=AuthorizationState.CLOSED) | Q(pk__in=attached))
        self.fields["authorizations"].queryset = papers.distinct()
        if not self.instance.pk:
            self.fields["handling"].initial = "KEEP 1–4 °C, DO NOT FREEZE"
        elif self.instance.state != ShipmentState.DRAFT:
            self._lock_what_has_left()

    def _lock_what_has_left(self):
        for name in (
            "code",
            "receiver",
            "receiving_person",
            "site_code",
            "planned_on",
            "arrives_on",
            "origin_region",
            "transit_regions",
            "done_by",
            "carrier",
            "handling",
        ):
            self.fields[name].disabled = True
        self.fields["code"].help_text = "This shipment is no longer a draft. Only its papers and note can be changed."


class ShipmentLineForm(forms.Form):
    lot = CodeField(Lot, label="Lot", suggest=100, describe=holding, help_text="Its code. Only lots with a balance are offered.")
    form = forms.ChoiceField(label="Form", choices=choices.material_forms)
    quantity = forms.IntegerField(label="How many", min_value=1, help_text="Adding the same lot and form again replaces the quantity.")
    draw_on = CodeListField(
        label="Goes under the papers", codes=PAPER_CODES,
        help_text="Codes of papers with a cap. With two lots under two permits, say here which goes under which.",
    )  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["draw_on"].optional_words = "blank: any"
        self.fields["lot"].queryset = Lot.objects.filter(balance__gt=0)
        self.fields["quantity"].unit = "seeds or plants"


class CancelForm(forms.Form):
    reason = forms.CharField(label="Reason for cancelling", max_length=200)


class TakeBackForm(forms.Form):
    reason = forms.CharField(label="Reason for taking it back", max_length=120)


class ReceiptForm(forms.ModelForm):
    """What the receiver found: the box, and a row of counts for each line of the shipment."""

    received_on = PastDateField(label=gettext_lazy("Received on"))
    box_condition = forms.ChoiceField(label=gettext_lazy("The box was"), choices=lambda: [("", "---------"), *choices.box_conditions()])

    class Meta:
        model = Receipt
        fields = ["received_on", "received_by", "box_condition", "temperature_c", "note"]
        labels = {
            "received_by": gettext_lazy("Received by"),
            "temperature_c": gettext_lazy("Temperature in the box"),
            "note": gettext_lazy("Note"),
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, lines, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["temperature_c"].unit = "°C"
        self.lines = list(lines)
        for line in self.lines:
            for name, label in _COUNTS:
                box = forms.TextInput(attrs={"size": 3, "inputmode": "numeric", "autocomplete": "off"})
                first = name == "sound"
                self.fields[f"{name}_{line.pk}"] = WholeNumberField(
                    label=f"{line.lot.code}, {str(label).lower()}", min_value=0, initial=None if first else 0, widget=box
                )

    @property
    def head_fields(self):
        return [self[name] for name in self.Meta.fields]

    def count_fields(self, line):
        return [self[f"{name}_{line.pk}"] for name, _label in _COUNTS]

    @property
    def counts(self):
        """{shipment line: (sound, sprouted, spoiled)}, as the service takes them."""
        return {line: tuple(self.cleaned_data[f"{name}_{line.pk}"] for name, _label in _COUNTS) for line in self.lines}

    def service_values(self):
        return {name: self.cleaned_data[name] for name in self.Meta.fields} | {"counts": self.counts}

    @staticmethod
    def count_columns():
        return [(label, "") for _name, label in _COUNTS]
