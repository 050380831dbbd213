"""The form of a round's counted plots: a row a plot, stored all or none."""

from uuid import uuid4

from django import forms

from plantings.forms.census_boxes import CountField
from plantings.forms.grid import SheetHeadForm
from plantings.models import PlotCount

COLUMNS = (("Alive", ""), ("Dead, remains seen", ""), ("Note", ""))
_KEYED = ("alive", "dead", "note")


class PlotRowForm(forms.Form):
    uuid = forms.UUIDField(widget=forms.HiddenInput)
    alive = CountField(label="alive", required=False)
    dead = CountField(label="dead", required=False)
    note = forms.CharField(label="note", required=False, max_length=1000, widget=forms.TextInput(attrs={"size": 24}))

    def __init__(self, *args, plot, **kwargs):
        super().__init__(*args, prefix=f"p{plot.pk}", empty_permitted=True, use_required_attribute=False, **kwargs)
        self.plot = plot
        self.fields["uuid"].initial = uuid4

    def has_changed(self):
        return any(self[name].data and self[name].data.strip() for name in _KEYED)

    def clean(self):
        cleaned = super().clean()
        if "alive" not in self.errors and cleaned.get("alive") is None:
            self.add_error("alive", "How many live is missing. Write 0 when none lives, or clear the row.")
        alive, dead = cleaned.get("alive") or 0, cleaned.get("dead") or 0
        if alive + dead > self.plot.planted_count:
            message = f"{alive} alive and {dead} dead are more than the {self.plot.planted_count} planted. Count again."
            self.add_error("alive", message)
        self._refuse_other_values(cleaned)
        return cleaned

    def _refuse_other_values(self, cleaned):
        stored = PlotCount.objects.filter(uuid=cleaned.get("uuid")).first() if cleaned.get("uuid") else None
        if stored and (stored.alive, stored.dead, stored.note) != (cleaned.get("alive"), cleaned.get("dead") or 0, cleaned.get("note")):
            self.add_error("alive", f"This row was stored before, as {stored.alive} alive. Correct that count, or clear the row.")


class PlotCountsForm:
    """The counts of one round. Plots with a count stand read only beside those without."""

    def __init__(self, plots, counts, data=None, head_initial=None):
        self.head = SheetHeadForm(data, initial=head_initial)
        self.lines = []
        for plot in plots:
            sent = data is not None and f"p{plot.pk}-uuid" in data
            form = PlotRowForm(data if sent else None, plot=plot) if sent or plot.pk not in counts else None
            self.lines.append((plot, form, counts.get(plot.pk, [])))

    @property
    def sent(self):
        return [form for _plot, form, _counts in self.lines if form is not None and form.is_bound and form.has_changed()]

    def is_valid(self):
        return all([self.head.is_valid(), *[form.is_valid() for form in self.sent]])

    @property
    def errors(self):
        found = [(bound.auto_id, "", bound.label, message) for bound in self.head for message in bound.errors]
        for form in self.sent:
            for bound in form:
                found += [(bound.auto_id, form.plot.code, bound.label, message) for message in bound.errors]
        return found
