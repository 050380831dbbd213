"""The keying grid: a page of a field form as one web form, one row per tree, typed as codes and stored all or none."""

from dataclasses import dataclass
from uuid import uuid4

from django import forms
from django.utils.translation import gettext, gettext_lazy

from plantings.calc.census.codes import CAUSES_BY_STATUS, CAUSES_OF_DEATH, STATUSES
from plantings.calc.census.own_measurements import row_values
from plantings.forms.census import findings_to_errors, refuse_other_values
from plantings.forms.census_boxes import add_boxes, code_box, finish_code, grid_box
from plantings.models import Observation, Tree
from plantings.selectors.census.asked import asked_at, asked_hint, in_english_only
from plantings.selectors.census.rounds import records_by_tree
from plantings.services.census.observations import CensusRow
from registry.access.languages import OFFICE_LANGUAGE
from registry.calc.shared.record_keys import is_record_key
from registry.forms.shared.part_date_box import PastPartDateBox
from registry.selectors.shared.local_text import local_text

ROWS_A_PAGE = 100
_COMPARED = ("round_id", "tree_id", "observed_on", "observer", "status", "cause", "own_values", "note")


def grid_columns(asked):
    """[(label, unit, language where it is not that of the page)] of the boxes of a row."""
    measured = ((local_text(item.short_label), asked_hint(item), OFFICE_LANGUAGE if in_english_only(item) else "") for item in asked)
    return ((gettext_lazy("Status"), "", ""), (gettext_lazy("Cause"), "", ""), *measured, (gettext_lazy("Note"), "", ""))


class FieldFormHeadForm(forms.Form):
    """What is written once at the head of a field form."""

    observed_on = PastPartDateBox(
        label=gettext_lazy("Seen on"), initial=None, help_text=gettext_lazy("The day written on the field form, not today.")
    )
    observer = forms.CharField(
        label=gettext_lazy("Who looked"), max_length=120, required=False, help_text=gettext_lazy("The names written on the field form.")
    )


class GridRowForm(forms.Form):
    """One tree of the field form, with a box for each of the measurements `asked`. A row with nothing typed in it is skipped."""

    uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"required": gettext_lazy("The hidden number of this row is missing. Load the page again.")},
    )  # fmt: skip
    status = forms.CharField(label=gettext_lazy("Status"), required=False, max_length=20, widget=code_box(3, autocapitalize="characters"))
    cause = forms.CharField(label=gettext_lazy("Cause"), required=False, max_length=40, widget=code_box(9))
    note = forms.CharField(label=gettext_lazy("Note"), required=False, widget=code_box(20, autocapitalize="sentences"))

    def __init__(self, *args, tree, asked, **kwargs):
        super().__init__(*args, prefix=f"t{tree.pk}", empty_permitted=True, use_required_attribute=False, **kwargs)
        self.tree, self.asked = tree, asked
        self.keyed = ("status", "cause", *(item.field for item in asked), "note")
        self.field_order = ("uuid", *self.keyed)
        add_boxes(self, grid_box, asked)
        self.fields["uuid"].initial = uuid4
        self.head, self.census_round, self.known = {}, None, None

    def has_changed(self):
        return any(self[name].data and self[name].data.strip() for name in self.keyed)

    def clean_status(self):
        status = self.cleaned_data["status"].strip().upper()
        if not status:
            words = gettext("The status is missing. Write one of %(codes)s, or clear the row.")
            raise forms.ValidationError(words % {"codes": ", ".join(code for code, _, _ in STATUSES)})
        return status

    def clean_cause(self):
        codes = CAUSES_BY_STATUS.get(self.cleaned_data.get("status"), CAUSES_OF_DEATH)
        return finish_code(self.cleaned_data["cause"], {code: code for code, _, _ in codes})

    def clean(self):
        super().clean()
        if "status" in self.cleaned_data and self.head.get("observed_on"):
            row = self.row()
            findings_to_errors(self, row, self.census_round, self.tree.planted_on or self.census_round.planting.planted_on)
            if self.known:
                columns = (item.field for item in self.asked if not item.is_own)
                refuse_other_values(self, self.known, row, (*_COMPARED, *columns))
        return self.cleaned_data

    def row(self):
        values = self.cleaned_data
        texts = {name: values.get(name) or "" for name in ("cause", "note")}
        return CensusRow(
            self.census_round.pk, self.tree.pk, status=values["status"], observed_on=self.head["observed_on"],
            observer=self.head.get("observer", ""), uuid=values.get("uuid") or uuid4(), **texts, **row_values(self.asked, values),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class GridLine:
    """One line of the grid: a tree with its boxes, or with its stored records."""

    tree: Tree
    form: GridRowForm | None
    records: tuple = ()


class CensusGrid:
    """One page of the grid. Unbound, it has boxes for the trees without a record; bound, for every row that was sent.

    `every` are the trees that may be keyed here: rows sent for others are not read.
    """

    def __init__(self, census_round, trees, every, data=None, head_initial=None):
        self.census_round, self.every, self.data = census_round, every, data
        self.asked = asked_at(census_round)
        self.columns = grid_columns(self.asked)
        self.head = FieldFormHeadForm(data, initial=head_initial)
        trees = self._with_sent(list(trees)) if data is not None else list(trees)
        records = self.records_of([tree.pk for tree in trees])
        self.lines = [self._line(tree, records.get(tree.pk, ())) for tree in trees]

    def records_of(self, trees):
        """{tree pk: its records in this round}."""
        return records_by_tree(self.census_round, trees)

    def known_records(self, keys):
        """The stored records of these uuids."""
        return Observation.objects.filter(uuid__in=keys)

    def _with_sent(self, trees):
        """The trees of the page, and those of sent rows that are no longer on it: nothing typed is dropped."""
        shown = {tree.pk for tree in trees}
        sent = {int(name[1:-5]) for name in self.data if name.startswith("t") and name.endswith("-uuid") and is_record_key(name[1:-5])}
        extra = self.every.filter(pk__in=sent - shown, planting=self.census_round.planting_id).select_related("block")
        return sorted([*trees, *extra], key=lambda tree: (tree.walk_number, tree.pk))

    def _line(self, tree, records):
        if self.data is not None and f"t{tree.pk}-uuid" in self.data:
            return GridLine(tree, GridRowForm(self.data, tree=tree, asked=self.asked), tuple(records))
        return GridLine(tree, None if records else GridRowForm(tree=tree, asked=self.asked), tuple(records))

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

    def _known(self, forms_sent):
        field = forms.UUIDField(required=False)
        keys = []
        for form in forms_sent:
            try:
                keys.append(field.clean(form["uuid"].data))
            except forms.ValidationError:
                continue  # the row itself reports it
        return {str(record.uuid): record for record in self.known_records([key for key in keys if key])}

    def rows(self):
        return [form.row() for form in self.sent]

    @property
    def errors(self):
        """[(id of the box, tag, field, message)] of the whole page, from top to bottom."""
        found = [(bound.auto_id, "", bound.label, message) for bound in self.head for message in bound.errors]
        for form in self.sent:
            found += [("", form.tree.tag, "", message) for message in form.non_field_errors()]
            for bound in form:
                found += [(bound.auto_id, form.tree.tag, bound.label, message) for message in bound.errors]
        return found


class SecondKeyingGrid(CensusGrid):
    """A page that somebody else has keyed: boxes for every tree, and nothing of what was keyed first."""

    def records_of(self, trees):
        return {}

    def known_records(self, keys):
        return []
