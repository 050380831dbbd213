"""The keying grid: a page of a paper sheet as one form, a row a tree, typed as codes and stored all or none."""

from dataclasses import dataclass
from uuid import uuid4

from django import forms

from plantings.calc.census.rules import BROWSE_CLASSES, CAUSES_OF_DEATH, FLOWERING, REMOVAL_REASONS
from plantings.forms.census import findings_to_errors, refuse_other_values
from plantings.forms.census_boxes import MeasureBox, MeasureField
from plantings.models import Observation, Tree
from plantings.selectors.census.rounds import records_by_tree
from plantings.services.census import CensusRow
from registry.forms.shared.fields import PastDateField

ROWS_A_PAGE = 100
KEYED = ("status", "cause", "height_cm", "diameter_mm", "canker_class", "browse_class", "flowering", "note")
COLUMNS = (
    ("Status", ""), ("Cause", ""), ("Height", "cm"), ("Diameter", "mm"), ("Canker", "0–4"), ("Browse", ""),
    ("Flowers", ""), ("Note", ""),
)  # fmt: skip
_COMPARED = ("round_id", "tree_id", "observed_on", "observer", *KEYED)


class SheetHeadForm(forms.Form):
    """What is written once at the head of a paper sheet."""

    observed_on = PastDateField(label="Seen on", initial=None, help_text="The day on the sheet, not today.")
    observer = forms.CharField(label="Who looked", max_length=120, required=False, help_text="The names on the sheet.")


def _code_box(size, **attrs):
    return forms.TextInput({"size": size, "autocomplete": "off", "spellcheck": "false"} | attrs)


def _finish_code(text, codes):
    """A code typed in full or by its first letters; ValidationError when it names none, or several."""
    typed = text.strip().casefold().replace(" ", "_")
    if not typed:
        return ""
    if typed in codes:
        return typed
    found = [code for code in codes if code.startswith(typed)]
    if len(found) == 1:
        return found[0]
    listed = ", ".join(found or codes)
    raise forms.ValidationError(f"“{text}” {'may mean several' if found else 'is none of the list'}. Write one of {listed}.")


class GridRowForm(forms.Form):
    """One tree of the sheet. A row with nothing typed in it says nothing and is passed over."""

    uuid = forms.UUIDField(widget=forms.HiddenInput, error_messages={"required": "The row lost its mark. Load the page again."})
    status = forms.CharField(label="status", required=False, max_length=20, widget=_code_box(3, autocapitalize="characters"))
    cause = forms.CharField(label="cause", required=False, max_length=40, widget=_code_box(9, autocapitalize="none"))
    height_cm = MeasureField(label="height", unit="cm", example="142", widget=MeasureBox(5))
    diameter_mm = MeasureField(label="diameter", unit="mm", example="12.5", widget=MeasureBox(5))
    canker_class = forms.CharField(label="canker", required=False, max_length=10, widget=_code_box(2, inputmode="numeric"))
    browse_class = forms.CharField(label="browse", required=False, max_length=20, widget=_code_box(7, autocapitalize="none"))
    flowering = forms.CharField(label="flowers", required=False, max_length=20, widget=_code_box(6, autocapitalize="none"))
    note = forms.CharField(label="note", required=False, widget=_code_box(20))

    def __init__(self, *args, tree, **kwargs):
        super().__init__(*args, prefix=f"t{tree.pk}", empty_permitted=True, use_required_attribute=False, **kwargs)
        self.tree = tree
        self.fields["uuid"].initial = uuid4
        self.head, self.census_round, self.known = {}, None, None

    def has_changed(self):
        return any(self[name].data and self[name].data.strip() for name in KEYED)

    def clean_status(self):
        status = self.cleaned_data["status"].strip().upper()
        if not status:
            raise forms.ValidationError("The status is missing. Write A, AR, D, NF, NL, NV or RM, or clear the row.")
        return status

    def clean_cause(self):
        removed = self.cleaned_data.get("status") == "RM"
        codes = [code for code, *_ in (REMOVAL_REASONS if removed else CAUSES_OF_DEATH)]
        return _finish_code(self.cleaned_data["cause"], codes)

    def clean_canker_class(self):
        text = self.cleaned_data["canker_class"].strip()
        if not text:
            return None
        if text not in {"0", "1", "2", "3", "4"}:
            raise forms.ValidationError(f"“{text}” is not a canker class. Write 0 to 4, or leave it blank when nobody looked.")
        return int(text)

    def clean_browse_class(self):
        return _finish_code(self.cleaned_data["browse_class"], [code for code, *_ in BROWSE_CLASSES])

    def clean_flowering(self):
        return _finish_code(self.cleaned_data["flowering"], [code for code, *_ in FLOWERING])

    def clean(self):
        super().clean()
        if "status" in self.cleaned_data and self.head.get("observed_on"):
            row = self.row()
            findings_to_errors(self, row, self.census_round, self.tree.planted_on or self.census_round.planting.planted_on)
            if self.known:
                refuse_other_values(self, self.known, row, _COMPARED)
        return self.cleaned_data

    def row(self):
        values = {name: self.cleaned_data.get(name) for name in KEYED}
        texts = {name: values[name] or "" for name in ("cause", "browse_class", "flowering", "note")}
        return CensusRow(
            self.census_round.pk, self.tree.pk, observed_on=self.head["observed_on"], observer=self.head.get("observer", ""),
            uuid=self.cleaned_data.get("uuid") or uuid4(), **values | texts,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class GridLine:
    """One line of the grid: a tree with its boxes, or with what is recorded already."""

    tree: Tree
    form: GridRowForm | None
    records: tuple = ()


class CensusGrid:
    """The page of a sheet. Unbound, it offers boxes for the trees without a record; bound, for every row that was sent."""

    def __init__(self, census_round, trees, data=None, head_initial=None):
        self.census_round, self.data = census_round, data
        self.head = SheetHeadForm(data, initial=head_initial)
        trees = self._with_sent(list(trees)) if data is not None else list(trees)
        records = records_by_tree(census_round, [tree.pk for tree in trees])
        self.lines = [self._line(tree, records.get(tree.pk, ())) for tree in trees]

    def _with_sent(self, trees):
        """Trees of the page, and those of rows that were sent though they stand on it no more: nothing typed is dropped."""
        shown = {tree.pk for tree in trees}
        sent = {int(name[1:-5]) for name in self.data if name.startswith("t") and name.endswith("-uuid") and name[1:-5].isdecimal()}
        extra = Tree.objects.filter(pk__in=sent - shown, planting=self.census_round.planting_id).select_related("block")
        return sorted([*trees, *extra], key=lambda tree: (tree.walk_number, tree.pk))

    def _line(self, tree, records):
        if self.data is not None and f"t{tree.pk}-uuid" in self.data:
            return GridLine(tree, GridRowForm(self.data, tree=tree), tuple(records))
        return GridLine(tree, None if records else GridRowForm(tree=tree), tuple(records))

    @property
    def sent(self):
        """The rows in which something was typed."""
        return [line.form for line in self.lines if line.form is not None and line.form.is_bound and line.form.has_changed()]

    def is_valid(self):
        head_fits = self.head.is_valid()
        sent = self.sent
        known = self._known(sent)
        for form in sent:
            form.census_round, form.head = self.census_round, self.head.cleaned_data
            form.known = known.get((form["uuid"].data or "").strip())
        return all([head_fits, *[form.is_valid() for form in sent]])

    @staticmethod
    def _known(forms_sent):
        field = forms.UUIDField(required=False)
        keys = []
        for form in forms_sent:
            try:
                keys.append(field.clean(form["uuid"].data))
            except forms.ValidationError:
                continue  # the row's own check says so
        return {str(record.uuid): record for record in Observation.objects.filter(uuid__in=[key for key in keys if key])}

    def rows(self):
        return [form.row() for form in self.sent]

    @property
    def errors(self):
        """[(id of the box, tag, field, message)] of the whole page, in its order."""
        found = [(bound.auto_id, "", bound.label, message) for bound in self.head for message in bound.errors]
        for form in self.sent:
            found += [("", form.tree.tag, "", message) for message in form.non_field_errors()]
            for bound in form:
                found += [(bound.auto_id, form.tree.tag, bound.label, message) for message in bound.errors]
        return found
