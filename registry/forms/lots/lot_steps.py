"""Forms of what is done with a lot: treatment, storage, sowing, culling, splitting, closing."""

from django import forms
from django.core.exceptions import ValidationError

from registry import choices
from registry.calc.shared.part_dates import surely_before
from registry.calc.shared.screen import amount_words
from registry.choices import CullReason, LotKind, LotOrigin, TreatmentKind
from registry.forms.lots.harvests import note_box, number_box
from registry.forms.shared.fields import PastDateField
from registry.forms.shared.part_date_box import PastPartDateBox
from registry.models import Lot
from registry.selectors.lots.lot_steps import lot_code_free

# -- treatment and storage -------------------------------------------------------------------


class TreatmentForm(forms.Form):
    """The fields of a treatment that its kind has."""

    _OF_KIND = {
        TreatmentKind.HOT_WATER: ("temperature_c", "minutes", "thermometer"),
        TreatmentKind.SURFACE: ("product", "minutes"),
        TreatmentKind.WARM: ("ended_on", "temperature_c"),
        TreatmentKind.COLD: ("ended_on", "temperature_c"),
        TreatmentKind.PESTICIDE: ("ended_on", "product", "licence"),
        TreatmentKind.OTHER: ("ended_on", "temperature_c", "minutes", "product", "licence"),
    }
    _NEEDED = {
        TreatmentKind.HOT_WATER: ("temperature_c", "minutes", "thermometer"),
        TreatmentKind.SURFACE: ("product", "minutes"),
        TreatmentKind.PESTICIDE: ("product", "licence"),
    }

    started_on = PastPartDateBox(label="Started on")
    ended_on = PastPartDateBox(label="Ended on", required=False, initial=None)
    temperature_c = number_box("Temperature", "°C")
    minutes = number_box("Time", "minutes", min_value=0.1)
    thermometer = forms.CharField(
        label="Thermometer", required=False, max_length=80, help_text="Which one, so that a wrong one can be found."
    )
    product = forms.CharField(label="Product and dilution", required=False, max_length=160)
    licence = forms.CharField(label="Licence of the operator", required=False, max_length=80)
    operator = forms.CharField(label="Done by", max_length=80)
    note = note_box()

    def __init__(self, *args, kind, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("ended_on", "temperature_c", "minutes", "thermometer", "product", "licence"):
            if name not in self._OF_KIND[kind]:
                del self.fields[name]
        for name in self._NEEDED.get(kind, ()):
            self.fields[name].required = True
        if kind in {TreatmentKind.WARM, TreatmentKind.COLD}:
            self.fields["ended_on"].help_text = "Leave blank while it is in progress. When it has ended, enter it again with both days."

    def clean(self):
        cleaned = super().clean()
        started, ended = cleaned.get("started_on"), cleaned.get("ended_on")
        if started and ended and surely_before(ended, started):
            self.add_error("ended_on", "It ends before it starts. Check both days.")
        return cleaned


class StorageForm(forms.Form):
    on = PastDateField(label="Checked on")
    by = forms.CharField(label="Checked by", max_length=80)
    place = forms.CharField(label="Stored at", max_length=120)
    temperature_c = number_box("Temperature", "°C")
    feel = forms.ChoiceField(label="Moisture by feel", required=False, choices=lambda: [("", "not checked"), *choices.moisture_feels()])
    sprouted_percent = number_box("Sprouted", "%", min_value=0, max_value=100)
    radicle_mm = number_box("Radicle length", "mm", min_value=0)
    mouldy_percent = number_box("Mouldy", "%", min_value=0, max_value=100)
    discarded = forms.IntegerField(label="Discarded", required=False, min_value=0, help_text="They leave the ledger as discarded.")
    note = note_box()

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["discarded"].unit = lot.unit
        if lot.kind == LotKind.STOCK:
            for name in ("sprouted_percent", "radicle_mm"):
                del self.fields[name]

    def service_values(self):
        return self.cleaned_data | {"discarded": self.cleaned_data["discarded"] or 0}


# -- sowing, raising, culling ----------------------------------------------------------------


_NEW = "new"


class IntoLotForm(forms.Form):
    """Seeds or plants that go into another lot of the same lineage: an existing lot, or a new one."""

    into = forms.ChoiceField(label="Into")
    code = forms.CharField(label="Code of the new lot", required=False, max_length=40, help_text="Leave blank to have one made.")
    count = forms.IntegerField(label="How many", min_value=1)
    on = PastDateField(label="On")
    storage_place = forms.CharField(label="Stored or grown at", required=False, max_length=120)

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.lot = lot
        self.fields["count"].unit = lot.unit
        self.fields["count"].help_text = f"The lot holds {amount_words(lot.balance, lot.unit)}."
        existing = [(str(pk), code) for pk, code in self.existing_lots().values_list("pk", "code")]
        if existing:
            self.fields["into"].choices = [(_NEW, self.new_words), *existing]
        else:
            del self.fields["into"]

    def existing_lots(self):
        raise NotImplementedError

    def made_code(self):
        raise NotImplementedError

    def clean_code(self):
        code = self.cleaned_data["code"].strip()
        if code and Lot.objects.filter(code__iexact=code).exists():
            raise ValidationError(f"There is a lot {code} already. Give another code, or choose it above if it came from this lot.")
        return code

    def target(self):
        """The lot it goes into: an existing one, or a new one that is not saved yet."""
        data = self.cleaned_data
        if data.get("into", _NEW) != _NEW:
            return self.existing_lots().get(pk=data["into"])
        generation = {name: getattr(self.lot, name) for name in ("backcrosses", "intercrosses", "generation_other")}
        return Lot(code=data["code"] or self.made_code(), year=self.made_year(), storage_place=data["storage_place"], **generation)

    def made_year(self):
        return self.lot.year


class SowForm(IntoLotForm):
    new_words = "a new stock lot"

    note = forms.CharField(label="Bed, container, depth", required=False, max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["on"].label = "Sown on"

    def existing_lots(self):
        return Lot.objects.filter(parent=self.lot, origin=LotOrigin.SOWN, kind=LotKind.STOCK, closed_on=None)

    def made_code(self):
        return lot_code_free(f"P{self.cleaned_data['on'].year % 100:02d}-{self.lot.code}"[:36])

    def made_year(self):
        return self.cleaned_data["on"].year


class SplitForm(IntoLotForm):
    new_words = "a new part"

    reason = forms.CharField(label="Why it is split", required=False, max_length=200)

    def existing_lots(self):
        return Lot.objects.filter(parent=self.lot, origin=LotOrigin.SPLIT, closed_on=None)

    def made_code(self):
        return lot_code_free(f"{self.lot.code[:34]}-A")


class CountForm(forms.Form):
    """How many, when and why."""

    count = forms.IntegerField(label="How many", min_value=1)
    on = PastDateField(label="On")
    reason = forms.CharField(label="Reason", max_length=200)

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["count"].unit = lot.unit


class RaiseForm(CountForm):
    reason = forms.CharField(label="Note", required=False, max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["count"].label = "Plants counted"
        self.fields["on"].label = "Counted on"


class CullForm(CountForm):
    reason = None
    why = forms.ChoiceField(label="Why they are culled", choices=CullReason.choices)
    note = forms.CharField(label="Note", required=False, max_length=120)


class CloseForm(forms.Form):
    on = PastDateField(label="Closed on")
    reason = forms.CharField(label="Note", required=False, max_length=200)


class ReopenForm(forms.Form):
    reason = forms.CharField(label="Why it is opened again", max_length=200)
