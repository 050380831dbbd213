"""Forms of what the census asks for: measurements of the programme's own, protocols."""

from django import forms

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.calc.census.own_measurements import classes_text
from plantings.selectors.census.asked import own_measurements
from registry.access.languages import LANGUAGE_NAMES, OTHER_LANGUAGES
from registry.forms.shared.fields import NumberField, WholeNumberField

_CODE_HELP = "Small letters, digits and _, such as leaf_spot. It names the values in sheets and cannot be changed later."


class MeasurementForm(forms.Form):
    """A measurement: a number with a range, or classes."""

    code = forms.CharField(label="Code", max_length=24, help_text=_CODE_HELP)
    name = forms.CharField(label="Name", max_length=40, help_text="As the crew reads it, such as Leaf spot.")
    taken = forms.CharField(label="How it is taken", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))
    from_season = WholeNumberField(
        label="From growing season", min_value=0, max_value=300, initial=0, required=False,
        help_text="Rounds with fewer growing seasons completed do not ask for it. 0: every round asks.",
    )  # fmt: skip
    unit = forms.CharField(label="Unit", max_length=20, required=False, help_text="Of a number, such as cm.")
    low = NumberField(label="Lowest value", required=False)
    high = NumberField(label="Highest value", required=False)
    whole = forms.BooleanField(label="Whole numbers only", required=False)
    loss_most = NumberField(
        label="Only grows: a later reading may be less by", required=False,
        help_text="In its unit; 0 if it never goes down. Lower readings, leaps and wrong units are then questioned. Blank: it may go down.",
    )  # fmt: skip
    gain_most = NumberField(label="The most it grows in a year", required=False, help_text="In its unit. Blank: no limit.")
    classes = forms.CharField(
        label="Classes", required=False, widget=forms.Textarea(attrs={"rows": 5}),
        help_text="From nothing to most, one a line: 0 = none, then 1 = some leaves. Leave it blank for a number.",
    )  # fmt: skip
    groups = [
        ("What is measured", ("code", "name", "taken", "from_season")),
        ("A number", ("unit", "low", "high", "whole", "loss_most", "gain_most")),
        ("Or classes", ("classes",)),
    ]

    def clean(self):
        values = super().clean()
        values["from_season"] = values.get("from_season") or 0
        return values


class MeasurementVersionForm(MeasurementForm):
    """The next version of a measurement: its code stays."""

    code = None


def _measurement_choices():
    built_in = [(item.name, f"{item.label}: {item.taken}") for item in MEASUREMENTS]
    return [*built_in, *((item.field, f"{item.label} ({item.field}): {item.taken}") for item in own_measurements())]


class MeasurementWordsForm(forms.Form):
    """The words of a measurement in another language."""

    language = forms.ChoiceField(label="Language", choices=lambda: [(code, LANGUAGE_NAMES[code]) for code in OTHER_LANGUAGES])
    name = forms.CharField(label="Name", max_length=60)
    taken = forms.CharField(label="How it is taken", max_length=400, widget=forms.Textarea(attrs={"rows": 2}))
    unit = forms.CharField(label="Unit", max_length=20, required=False)
    classes = forms.CharField(label="Classes", required=False, widget=forms.Textarea(attrs={"rows": 5}))

    def __init__(self, *args, measurement, **kwargs):
        super().__init__(*args, **kwargs)
        del self.fields["unit" if measurement.classes else "classes"]
        for name in ("name", "taken"):
            self.fields[name].help_text = f"In English: {getattr(measurement, name)}"
        if measurement.classes:
            english = classes_text(measurement.in_english.classes)
            self.fields["classes"].help_text = f"One a line, with the same codes in the same order. In English: {english}"
        elif measurement.unit:
            self.fields["unit"].help_text = f"Only where it is written otherwise than in English: {measurement.unit}"


class ProtocolForm(forms.Form):
    """A protocol: what its rounds ask for."""

    code = forms.CharField(label="Code", max_length=24, help_text="Small letters, digits and _, such as standard.")
    asks = forms.MultipleChoiceField(
        label="Asks for, besides the status, the cause and a note", choices=_measurement_choices, required=False,
        widget=forms.CheckboxSelectMultiple,
    )  # fmt: skip
    about = forms.CharField(label="How the round is done", required=False, widget=forms.Textarea(attrs={"rows": 4}))


class ProtocolVersionForm(ProtocolForm):
    """The next version of a protocol: its code stays."""

    code = None
