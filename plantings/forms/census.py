"""Forms of one census record: the plain form for one tree, and its correction."""

from uuid import uuid4

from django import forms

from plantings.calc.census.rules import BROWSE_CLASSES, CANKER_CLASSES, CAUSES_OF_DEATH, FLOWERING, REMOVAL_REASONS, STATUSES
from plantings.forms.census_boxes import CountField, MeasureField
from plantings.models import Observation
from plantings.services.census import CensusRow, row_findings
from registry.forms.shared.fields import PastDateField

MEASURED = (
    "status", "cause", "height_cm", "diameter_mm", "diameter_at_cm", "canker_class", "browse_class", "dieback_percent", "flowering",
    "note", "observed_on", "observer",
)  # fmt: skip


def _coded(codes, blank):
    return [("", blank), *((str(code), f"{label}: {note}" if isinstance(note, str) else label) for code, label, note in codes)]


def _cause_choices():
    died = [(code, label) for code, label, _note in CAUSES_OF_DEATH]
    removed = [(code, label) for code, label, _biological in REMOVAL_REASONS]
    return [("", "no cause"), ("Cause of death", died), ("Reason of removal", removed)]


def findings_to_errors(form, row, census_round, planted_on):
    """Put the errors of `row_findings` on the fields of a form; what a form has no field for goes to the form itself."""
    for finding in row_findings(row, census_round, planted_on):
        if finding.severity == "error" and finding.field not in form.errors:
            form.add_error(finding.field if finding.field in form.fields else None, finding.message)


def record_words(record):
    """A stored record in a few words: D, canker, 142 cm."""
    parts = [record.status, record.cause]
    parts += [f"{value:g} {unit}" for value, unit in ((record.height_cm, "cm"), (record.diameter_mm, "mm")) if value is not None]
    return ", ".join(part for part in parts if part)


def refuse_other_values(form, record, row, names):
    """Refuse a row that was stored before with other values: sent again as it was it changes nothing, but an edit must not be lost."""
    stored_cause = "unknown" if row.status == "D" and not row.cause else row.cause  # as the service stores it
    values = {name: getattr(row, name) for name in names} | {"cause": stored_cause}
    if any(getattr(record, name) != value for name, value in values.items()):
        message = f"This was stored before, as {record_words(record)}. Have that record corrected; what you typed now is not stored."
        form.add_error("status", message)


class CensusForm(forms.Form):
    """What one crew saw at one tree. `uuid` is made when the form is shown, so that sending it twice stores once."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    status = forms.ChoiceField(
        label="Status", widget=forms.RadioSelect, choices=[(code, f"{label} ({code})") for code, label, _note in STATUSES],
        error_messages={"required": "Choose one status. Not visited is one of them."},
    )  # fmt: skip
    cause = forms.ChoiceField(label="Cause", required=False, choices=_cause_choices, help_text="Only for a dead or a removed tree.")
    height_cm = MeasureField(
        label="Height", unit="cm", example="142", help_text="Ground on the uphill side to the tip of the tallest live bud."
    )
    diameter_mm = MeasureField(label="Diameter", unit="mm", example="12.5", help_text="Two readings at right angles; write their mean.")
    diameter_at_cm = MeasureField(label="Diameter taken at", unit="cm above ground", example="2.5")
    canker_class = forms.TypedChoiceField(
        label="Canker, worst class", required=False, coerce=int, empty_value=None, choices=_coded(CANKER_CLASSES, "not looked for")
    )
    browse_class = forms.ChoiceField(label="Browse", required=False, choices=_coded(BROWSE_CLASSES, "not looked for"))
    dieback_percent = CountField(
        label="Dieback", required=False, help_text="Share of the crown that died back, in steps of 10, such as 30."
    )
    flowering = forms.ChoiceField(label="Flowers or fruit", required=False, choices=_coded(FLOWERING, "not looked for"))
    note = forms.CharField(label="Note", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2}))
    observed_on = PastDateField(label="Seen on")
    observer = forms.CharField(label="Who looked", max_length=120, required=False)

    groups = [
        ("What stands there", ("status", "cause")),
        ("Measured", ("height_cm", "diameter_mm", "diameter_at_cm")),
        ("Looked for", ("canker_class", "browse_class", "dieback_percent", "flowering")),
        ("Said", ("note", "observed_on", "observer")),
    ]

    def __init__(self, *args, census_round, tree, **kwargs):
        super().__init__(*args, **kwargs)
        self.census_round, self.tree = census_round, tree
        self.fields["dieback_percent"].unit = "%"
        self.fields["uuid"].initial = uuid4

    def clean(self):
        cleaned = super().clean()
        if "status" in cleaned and "observed_on" in cleaned:
            row = self.row()
            findings_to_errors(self, row, self.census_round, self.tree.planted_on or self.census_round.planting.planted_on)
            known = Observation.objects.filter(uuid=cleaned.get("uuid")).first() if cleaned.get("uuid") else None
            if known:
                refuse_other_values(self, known, row, ("round_id", "tree_id", *MEASURED))
        return cleaned

    def measured(self):
        """The values of the record by field name."""
        values = {name: self.cleaned_data.get(name) for name in MEASURED}
        texts = ("cause", "browse_class", "flowering", "note", "observer")
        return values | {name: values[name] or "" for name in texts}

    def row(self):
        return CensusRow(self.census_round.pk, self.tree.pk, uuid=self.cleaned_data.get("uuid") or uuid4(), **self.measured())


class CorrectionForm(CensusForm):
    """The record as it stands, to be corrected: what it should have said, and why."""

    reason = forms.CharField(
        label="Why the record is corrected", max_length=200, help_text="The earlier record stays in the book beside it."
    )
    groups = [*CensusForm.groups, ("Why", ("reason",))]

    def __init__(self, *args, record, **kwargs):
        super().__init__(*args, census_round=record.round, tree=record.tree, **kwargs)
        self.record = record
        self.initial = {name: getattr(record, name) for name in MEASURED} | self.initial
        del self.fields["uuid"]  # the service makes it; a record is corrected once at most

    def changes(self):
        return {name: value for name, value in self.measured().items() if value != getattr(self.record, name)}

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not self.changes():
            self.add_error(None, "Nothing differs from the record as it stands. Change what was wrong.")
        return cleaned


class PlotCorrectionForm(forms.Form):
    alive = CountField(label="Alive")
    dead = CountField(label="Dead, remains seen")
    observed_on = PastDateField(label="Counted on")
    observer = forms.CharField(label="Who counted", max_length=120, required=False)
    note = forms.CharField(label="Note", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2}))
    reason = forms.CharField(label="Why the count is corrected", max_length=200, help_text="The earlier count stays in the book beside it.")

    def __init__(self, *args, record, **kwargs):
        super().__init__(*args, **kwargs)
        self.record = record
        self.initial = {name: getattr(record, name) for name in self.fields if name != "reason"} | self.initial
