"""The form of a round's counted plots, one row per plot and stored all or none; and that of self-sown seedlings."""

from uuid import uuid4

from django import forms
from django.utils.translation import gettext, gettext_lazy

from plantings.calc.census.rules import NOTE_LENGTH_MAX
from plantings.forms.census import note_box
from plantings.forms.census_boxes import CountField
from plantings.forms.grid import FieldFormHeadForm
from plantings.models import PlotCount
from registry.forms.shared.part_date_box import PastPartDateBox

COLUMNS = ((gettext_lazy("Alive"), "", ""), (gettext_lazy("Dead, remains seen"), "", ""), (gettext_lazy("Note"), "", ""))
_KEYED = ("alive", "dead", "note")


class PlotRowForm(forms.Form):
    """One counted plot. A row with nothing typed in it is skipped."""

    uuid = forms.UUIDField(widget=forms.HiddenInput)
    alive = CountField(label=gettext_lazy("Alive"), required=False)
    dead = CountField(label=gettext_lazy("Dead"), required=False)
    note = forms.CharField(
        label=gettext_lazy("Note"), required=False, max_length=NOTE_LENGTH_MAX, widget=forms.TextInput(attrs={"size": 24})
    )

    def __init__(self, *args, plot, **kwargs):
        super().__init__(*args, prefix=f"p{plot.pk}", empty_permitted=True, use_required_attribute=False, **kwargs)
        self.plot = plot
        self.fields["uuid"].initial = uuid4

    def has_changed(self):
        return any(self[name].data and self[name].data.strip() for name in _KEYED)

    def clean(self):
        cleaned = super().clean()
        if "alive" not in self.errors and cleaned.get("alive") is None:
            self.add_error("alive", gettext("The number alive is missing. Write 0 if none is alive, or clear the row."))
        alive, dead = cleaned.get("alive") or 0, cleaned.get("dead") or 0
        if self.plot.planted_count is not None and alive + dead > self.plot.planted_count:
            words = gettext("%(alive)s alive and %(dead)s dead are more than the %(planted)s planted. Count again.")
            self.add_error("alive", words % {"alive": alive, "dead": dead, "planted": self.plot.planted_count})
        self._refuse_other_values(cleaned)
        return cleaned

    def _refuse_other_values(self, cleaned):
        stored = PlotCount.objects.filter(uuid=cleaned.get("uuid")).first() if cleaned.get("uuid") else None
        if stored and (stored.alive, stored.dead, stored.note) != (cleaned.get("alive"), cleaned.get("dead") or 0, cleaned.get("note")):
            words = gettext("This row was stored before, as %(alive)s alive. Correct that count, or clear the row.")
            self.add_error("alive", words % {"alive": stored.alive})


class PlotCountsForm:
    """The counts of one round: boxes for the plots without a count, the stored counts of the others."""

    def __init__(self, plots, counts, data=None, head_initial=None):
        self.head = FieldFormHeadForm(data, initial=head_initial)
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


class SelfSownForm(forms.Form):
    """Seedlings that came up by themselves at one place."""

    place = forms.CharField(
        label=gettext_lazy("Where"), max_length=120,
        help_text=gettext_lazy("Such as: along the north fence, between rows 3 and 4, in the whole planting."),
    )  # fmt: skip
    seedlings = CountField(label=gettext_lazy("How many seedlings"), required=False)
    observed_on = PastPartDateBox(label=gettext_lazy("Seen on"))
    observer = forms.CharField(label=gettext_lazy("Who looked"), max_length=120, required=False)
    note = note_box()


class SelfSownCorrectionForm(SelfSownForm):
    reason = forms.CharField(
        label=gettext_lazy("Reason for the correction"), max_length=200,
        help_text=gettext_lazy("The earlier record stays on file, marked as corrected."),
    )  # fmt: skip

    def __init__(self, *args, record, **kwargs):
        super().__init__(*args, **kwargs)
        self.initial = {name: getattr(record, name) for name in self.fields if name != "reason"} | self.initial
