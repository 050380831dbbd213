"""Forms of one census record: the plain form for one tree, and its correction."""

from uuid import uuid4

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext, gettext_lazy

from plantings.calc.census.codes import CAUSE_LABELS, CAUSES_OF_DEATH, DEAD, REMOVAL_REASONS, STATUS_LABELS, STATUSES, UNKNOWN_CAUSE
from plantings.calc.census.measurements import ERROR, FORM, LOOKED_FOR, MEASURED, measures_words, value_of
from plantings.calc.census.own_measurements import row_values
from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.forms.census_boxes import CountField, add_boxes, form_box
from plantings.models import Observation
from plantings.selectors.census.asked import asked_at
from plantings.services.census.checks import row_findings
from plantings.services.census.observations import CensusRow
from registry.calc.shared.marked import gettext_noop
from registry.forms.shared.part_date_box import PastPartDateBox
from registry.selectors.shared.local_text import local_text
from registry.selectors.shared.local_words import local_number, local_value

# What a record says besides its measurements.
_SAID = ("status", "cause", "note", "observed_on", "observer")
_OWN = gettext_noop("Asked for by the protocol")


def _status_choices():
    return [(code, format_lazy("{} ({})", gettext_lazy(label), code)) for code, label, _ in STATUSES]


def _cause_choices():
    died = [(code, gettext_lazy(label)) for code, label, _ in CAUSES_OF_DEATH]
    removed = [(code, gettext_lazy(label)) for code, label, _ in REMOVAL_REASONS]
    return [("", gettext_lazy("no cause")), (gettext_lazy("Cause of death"), died), (gettext_lazy("Reason of removal"), removed)]


def note_box():
    """The box for a note of a few lines."""
    return forms.CharField(label=gettext_lazy("Note"), required=False, max_length=NOTE_LENGTH_MAX, widget=forms.Textarea(attrs={"rows": 2}))


def findings_to_errors(form, row, census_round, planted_on):
    """Put the errors of `row_findings` on the fields of a form; what a form has no field for goes to the form itself."""
    for finding in row_findings(row, census_round, planted_on):
        if finding.severity == ERROR and finding.field not in form.errors:
            form.add_error(finding.field if finding.field in form.fields else None, finding.said(local_text, local_value))


def record_words(record, own=()):
    """A stored record in a few words: Dead (D), Canker, 142 cm. `own` are the programme's own measurements that it may hold."""
    said = (status_words(record.status), gettext(CAUSE_LABELS[record.cause]) if record.cause else "")
    return ", ".join(part for part in (*said, measures_words(record, local_text, local_number, own)) if part)


def status_words(code):
    """A status as it is read and as it is keyed: Dead (D)."""
    return f"{gettext(STATUS_LABELS[code])} ({code})"


def refuse_other_values(form, record, row, names):
    """Refuse a row that was stored before with other values: sent again as it was it changes nothing, but an edit must not be lost."""
    stored_cause = UNKNOWN_CAUSE if row.status == DEAD and not row.cause else row.cause  # as the service stores it
    values = {name: getattr(row, name) for name in names} | {"cause": stored_cause}
    if any(getattr(record, name) != value for name, value in values.items()):
        message = gettext("This was stored before, as %(record)s. Correct that record; what you typed now is not stored.")
        form.add_error("status", message % {"record": record_words(record)})


class CensusForm(forms.Form):
    """What one crew saw at one tree, with a box for each measurement that its round asks for.

    `uuid` is made when the form is shown, so that sending it twice stores once.
    """

    place = FORM  # of the table of measurements, for a round without a protocol
    uuid = forms.UUIDField(widget=forms.HiddenInput)
    status = forms.ChoiceField(
        label=gettext_lazy("Status"), widget=forms.RadioSelect, choices=_status_choices(),
        error_messages={"required": gettext_lazy("Choose one status. Not visited is one of them.")},
    )  # fmt: skip
    cause = forms.ChoiceField(
        label=gettext_lazy("Cause"), required=False, choices=_cause_choices(), help_text=gettext_lazy("Only for a dead or removed tree.")
    )
    note = note_box()
    observed_on = PastPartDateBox(label=gettext_lazy("Seen on"))
    observer = forms.CharField(label=gettext_lazy("Who looked"), max_length=120, required=False)

    def __init__(self, *args, census_round, tree, **kwargs):
        super().__init__(*args, **kwargs)
        self.census_round, self.tree = census_round, tree
        self.asked = asked_at(census_round, self.place)
        self.fields["uuid"].initial = uuid4
        self.recorded_names = ("status", "cause", *(item.field for item in self.asked), "note", "observed_on", "observer")
        self.field_order = ("uuid", *self.recorded_names, "reason")
        add_boxes(self, form_box, self.asked)

    @property
    def groups(self):
        measured = ((group, [item.field for item in self.asked if item.group == group]) for group in (MEASURED, LOOKED_FOR))
        own = (_OWN, [item.field for item in self.asked if item.is_own])
        return [
            (gettext("What you found"), ("status", "cause")),
            *((gettext(group), names) for group, names in (*measured, own) if names),
            (gettext("Note, day and observer"), ("note", "observed_on", "observer")),
        ]

    def clean(self):
        cleaned = super().clean()
        if "status" in cleaned and "observed_on" in cleaned:
            row = self.row()
            findings_to_errors(self, row, self.census_round, self.tree.planted_on or self.census_round.planting.planted_on)
            known = Observation.objects.filter(uuid=cleaned.get("uuid")).first() if cleaned.get("uuid") else None
            if known:
                refuse_other_values(self, known, row, ("round_id", "tree_id", *self.recorded()))
        return cleaned

    def recorded(self):
        """The values of the record by field name."""
        values = self.cleaned_data
        said = {"status": values.get("status"), "observed_on": values.get("observed_on")}
        texts = {name: values.get(name) or "" for name in ("cause", "note", "observer")}
        return said | texts | row_values(self.asked, values)

    def row(self):
        return CensusRow(self.census_round.pk, self.tree.pk, uuid=self.cleaned_data.get("uuid") or uuid4(), **self.recorded())


class CorrectionForm(CensusForm):
    """Corrects a record: what it should have said, and why."""

    reason = forms.CharField(
        label=gettext_lazy("Reason for the correction"), max_length=200,
        help_text=gettext_lazy("The earlier record stays on file, marked as corrected."),
    )  # fmt: skip

    def __init__(self, *args, record, **kwargs):
        super().__init__(*args, census_round=record.round, tree=record.tree, **kwargs)
        self.record = record
        measured = {item.field: value_of(record, item) for item in self.asked}
        self.initial = {name: getattr(record, name) for name in _SAID} | measured | self.initial
        del self.fields["uuid"]  # the service makes it; a record is corrected once at most

    @property
    def groups(self):
        return [*super().groups, (gettext("Reason"), ("reason",))]

    def changes(self):
        return {name: value for name, value in self.recorded().items() if value != getattr(self.record, name)}

    def clean(self):
        cleaned = super().clean()
        if not self.errors and not self.changes():
            self.add_error(None, gettext("Nothing differs from the record on file. Change what was wrong, or cancel."))
        return cleaned


class NotVisitedForm(forms.Form):
    """Why nobody went to the trees of a round that have no record."""

    why = forms.CharField(
        label=gettext_lazy("Reason"), max_length=200,
        help_text=gettext_lazy("Such as: track washed out. It goes into the note of each record, and into the coverage."),
    )  # fmt: skip
    observed_on = PastPartDateBox(label=gettext_lazy("On which day"))
    observer = forms.CharField(label=gettext_lazy("Reported by"), max_length=120, required=False)


class PlotCorrectionForm(forms.Form):
    """Corrects the count of a plot."""

    alive = CountField(label=gettext_lazy("Alive"))
    dead = CountField(label=gettext_lazy("Dead, remains seen"))
    observed_on = PastPartDateBox(label=gettext_lazy("Counted on"))
    observer = forms.CharField(label=gettext_lazy("Who counted"), max_length=120, required=False)
    note = note_box()
    reason = forms.CharField(
        label=gettext_lazy("Reason for the correction"),
        max_length=200,
        help_text=gettext_lazy("The earlier count stays on file, marked as corrected."),
    )

    def __init__(self, *args, record, **kwargs):
        super().__init__(*args, **kwargs)
        self.record = record
        self.initial = {name: getattr(record, name) for name in self.fields if name != "reason"} | self.initial


class PhotoForm(forms.Form):
    file = forms.FileField(
        label="The photo", help_text="JPG, as the page of the phone saves it: at most 2 MB. Place and camera are left out."
    )
