"""Forms of seed tests: one for each kind, since each measures other numbers. The service refuses figures that contradict each other."""

from django import forms
from django.core.exceptions import ValidationError

from registry.calc.shared.screen import amount_words
from registry.choices import SeedTestKind
from registry.forms.shared.fields import NumberField, WholeNumberField
from registry.forms.shared.part_date_box import PastPartDateBox

_REPLICATES_MAX = 8


class SeedTestForm(forms.Form):
    """What every test has. `fields_of_kind` go to the model as they are; `replicates` as the service takes them."""

    fields_of_kind = ()

    tested_on = PastPartDateBox(label="Tested on")
    tested_by = forms.CharField(label="Tested by", max_length=80)
    drawn = forms.IntegerField(
        label="Seeds used up",
        required=False,
        min_value=0,
        help_text="They leave the ledger as sampled. Leave blank when they went back into the lot.",
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args, test=None, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["drawn"].unit = "seeds"
        for name, field in self.fields.items():
            if name.endswith("_g"):
                field.unit = "g"
        if test:
            self.fields["reason"] = forms.CharField(
                label="Why it is corrected", max_length=200, help_text="Recorded with the correction. The old figures stay on record."
            )

    @property
    def head_fields(self):
        return [self[name] for name in self.fields if "_row_" not in name]

    @property
    def grid(self):
        return None

    @property
    def replicates(self):
        return ()

    def service_values(self):
        """The fields as the service takes them."""
        head = ("tested_on", "tested_by", "note", *self.fields_of_kind, *(("reason",) if "reason" in self.fields else ()))
        return {name: self.cleaned_data[name] for name in head} | {
            "drawn": self.cleaned_data["drawn"] or 0,
            "replicates": self.replicates,
        }

    @classmethod
    def initial_of(cls, test, drawn):
        """What the boxes hold when a test is corrected."""
        names = ("tested_on", "tested_by", "note", *cls.fields_of_kind)
        return {name: getattr(test, name) for name in names} | {"drawn": drawn or None}


class CountTestForm(SeedTestForm):
    """Float and cut tests: a counted sample, and how many were sound, infested, mouldy or empty."""

    fields_of_kind = ("seeds", "sound", "infested", "mouldy", "empty")
    field_order = ["tested_on", "tested_by", *fields_of_kind, "drawn", "note"]

    seeds = forms.IntegerField(label="Seeds in the sample", min_value=1)
    sound = forms.IntegerField(label="Sound", min_value=0)
    infested = forms.IntegerField(label="With insects", required=False, min_value=0)
    mouldy = forms.IntegerField(label="Mouldy", required=False, min_value=0)
    empty = forms.IntegerField(label="Empty", required=False, min_value=0)


class FloatTestForm(CountTestForm):
    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["sound"].label = "Sank"
        self.fields["sound"].help_text = "Floaters are empty, unpollinated or dry. After long dry storage living seeds float too: cut some."


class MoistureTestForm(SeedTestForm):
    fields_of_kind = ("container_g", "wet_g", "dry_g")
    field_order = ["tested_on", "tested_by", *fields_of_kind, "regime", "drawn", "note"]

    container_g = forms.FloatField(label="Container", min_value=0)
    wet_g = forms.FloatField(label="Container and seed before drying", min_value=0.0001)
    dry_g = forms.FloatField(label="Container and seed after drying", min_value=0.0001)


class PurityTestForm(SeedTestForm):
    fields_of_kind = ("pure_g", "sample_g")
    field_order = ["tested_on", "tested_by", *fields_of_kind, "drawn", "note"]

    pure_g = forms.FloatField(label="Pure seed", min_value=0)
    sample_g = forms.FloatField(label="Whole sample", min_value=0.0001)


class ReplicateForm(SeedTestForm):
    """Tests in replicates: a grid of rows, each with its seeds and what was measured. A row without a measurement does not count."""

    measured = measured_label = measured_unit = ""
    rows = _REPLICATES_MAX

    def __init__(self, *args, test=None, **kwargs):
        super().__init__(*args, test=test, **kwargs)
        had = list(test.replicates.all()) if test else []
        for number in range(1, max(self.rows, len(had)) + 1):
            replicate = had[number - 1] if number <= len(had) else None
            self.fields[f"seeds_row_{number}"] = WholeNumberField(
                label="seeds", required=False, min_value=1, initial=replicate.seeds if replicate else 100, widget=_box()
            )
            self.fields[f"measured_row_{number}"] = self.measured_field(getattr(replicate, self.measured, None))
        self.numbers = range(1, max(self.rows, len(had)) + 1)

    @property
    def grid(self):
        columns = [("Seeds", ""), (self.measured_label, self.measured_unit)]
        rows = [{"code": str(n), "fields": [self[f"seeds_row_{n}"], self[f"measured_row_{n}"]]} for n in self.numbers]
        return {"caption": "Replicates", "row_label": "No.", "columns": columns, "rows": rows}

    def filled(self):
        """(number, seeds, measured) of the rows in which something was measured."""
        data = self.cleaned_data
        return [
            (n, data.get(f"seeds_row_{n}"), data[f"measured_row_{n}"]) for n in self.numbers if data.get(f"measured_row_{n}") is not None
        ]

    def clean(self):
        cleaned = super().clean()
        rows = self.filled()
        if not rows and not self.errors:
            raise ValidationError("No replicate is filled in. Give the seeds and the measurement of at least one.")
        for number, seeds, measured in rows:
            if seeds is None and f"seeds_row_{number}" not in self.errors:
                self.add_error(f"seeds_row_{number}", f"Replicate {number}: how many seeds?")
            elif seeds is not None:
                self.check_row(number, seeds, measured)
        return cleaned

    def check_row(self, number, seeds, measured):
        """Put what is wrong with one row at its box."""


class GerminationTestForm(ReplicateForm):
    fields_of_kind = ("regime",)
    field_order = ["tested_on", "tested_by", "regime", "drawn", "note"]
    measured, measured_label = "germinated", "Germinated"

    regime = forms.CharField(label="Temperature and days", required=False, max_length=120, help_text="Such as 30/20 °C, 60 days.")

    def measured_field(self, initial):
        return WholeNumberField(label="germinated", required=False, min_value=0, initial=initial, widget=_box())

    def check_row(self, number, seeds, measured):
        if measured > seeds:
            self.add_error(
                f"measured_row_{number}", f"Replicate {number}: {measured} germinated of {amount_words(seeds, 'seeds')}. Give 0 to {seeds}."
            )

    @property
    def replicates(self):
        return [(seeds, germinated, None) for _number, seeds, germinated in self.filled()]


class MassTestForm(ReplicateForm):
    field_order = ["tested_on", "tested_by", "drawn", "note"]
    measured, measured_label, measured_unit = "mass_g", "Mass", "g"

    def measured_field(self, initial):
        return NumberField(label="mass in g", required=False, min_value=0.0001, initial=initial, widget=_box())

    @property
    def replicates(self):
        return [(seeds, None, mass_g) for _number, seeds, mass_g in self.filled()]


def _box():
    return forms.TextInput(attrs={"size": 5, "inputmode": "decimal", "autocomplete": "off"})


TEST_FORMS = {
    SeedTestKind.FLOAT: FloatTestForm,
    SeedTestKind.CUT: CountTestForm,
    SeedTestKind.MOISTURE: MoistureTestForm,
    SeedTestKind.PURITY: PurityTestForm,
    SeedTestKind.MASS: MassTestForm,
    SeedTestKind.GERMINATION: GerminationTestForm,
}
