"""Forms of ratings: the trees of an orchard day, a single tree, a correction, a scale."""

from django import forms

from registry import choices
from registry.forms.shared.fields import CodeField, ExactNumberField, NumberField, PastDateField, RecordForm
from registry.forms.shared.filters import FilterForm, pick, words
from registry.forms.shared.part_date_box import PastPartDateBox
from registry.models import PedigreeTree, RatingScale
from registry.services.orchard.ratings import RatingDay, Reading, reading_problems

__all__ = ["RatingCorrectForm", "RatingDayForm", "RatingFilters", "RatingForm", "RatingPlaceForm", "RatingScaleForm"]

# name, label, unit, width of the box, field
READINGS = (
    ("score", "Score", "", 5, lambda: ExactNumberField(max_digits=5, decimal_places=2, required=False)),
    ("canker_length_mm", "Canker length", "mm", 5, lambda: NumberField(min_value=0, max_value=10_000, required=False)),
    ("canker_width_mm", "Canker width", "mm", 5, lambda: NumberField(min_value=0, max_value=10_000, required=False)),
    ("note", "Note", "", 18, lambda: forms.CharField(max_length=300, required=False)),
)
DAY_FIELDS = ("scale", "method", "strain", "inoculated_on", "rater")


class RatingPlaceForm(forms.Form):
    """Where and when: opens the keying grid of the trees that were standing there on that day."""

    orchard = forms.CharField(label="Orchard", max_length=60, help_text="As recorded on its trees.")
    block = forms.CharField(label="Block", max_length=40, required=False, help_text="Leave blank for all blocks.")
    on = PastDateField(label="Rated on")


class _DayFields(forms.Form):
    """What the readings of a day share."""

    scale = forms.ModelChoiceField(RatingScale.objects.all(), label="Scale and version")
    method = forms.ChoiceField(label="Method", choices=choices.rating_methods)
    strain = forms.CharField(
        label="Strain of the pathogen",
        max_length=60,
        required=False,
        help_text="One strain for each grid: only checks of the same strain count.",
    )
    inoculated_on = PastPartDateBox(label="Inoculated on", required=False, initial=None)
    rater = forms.CharField(label="Rated by", max_length=80)

    def day(self, rated_on):
        data = self.cleaned_data
        return RatingDay(data["scale"], rated_on, data["method"], data["rater"], data["strain"], data["inoculated_on"])


class RatingDayForm(_DayFields):
    """One row for each tree; blank rows are skipped."""

    def __init__(self, *args, trees, rated_on, **kwargs):
        super().__init__(*args, **kwargs)
        self.trees, self.rated_on, self.readings = trees, rated_on, []
        for tree in trees:
            for name, label, _unit, width, make in READINGS:
                field = self.fields[f"t{tree.pk}-{name}"] = make()
                field.label = label.lower()
                field.widget = forms.TextInput(attrs={"size": width} | ({} if name == "note" else {"inputmode": "decimal"}))

    def row(self, tree):
        return [self[f"t{tree.pk}-{name}"] for name, *_ in READINGS]

    def clean(self):
        cleaned = super().clean()
        if any(name not in cleaned for name in DAY_FIELDS):
            return cleaned
        day = self.day(self.rated_on)
        for tree in self.trees:
            names = {name: f"t{tree.pk}-{name}" for name, *_ in READINGS}
            values = {name: cleaned.get(place) for name, place in names.items()}
            if all(value in (None, "") for value in values.values()) or any(place in self.errors for place in names.values()):
                continue
            reading = Reading(tree, **values)
            for name, message in reading_problems(day, reading):
                self.add_error(names.get(name, names["score"]), f"{tree.code}: {message}")
            self.readings.append(reading)
        return cleaned


class RatingForm(_DayFields):
    """One tree."""

    rated_on = PastPartDateBox(label="Rated on")
    score = forms.DecimalField(label="Score", max_digits=5, decimal_places=2, required=False)
    canker_length_mm = forms.FloatField(label="Canker length", min_value=0, max_value=10_000, required=False)
    canker_width_mm = forms.FloatField(label="Canker width", min_value=0, max_value=10_000, required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    field_order = [
        "rated_on",
        "scale",
        "score",
        "canker_length_mm",
        "canker_width_mm",
        "method",
        "strain",
        "inoculated_on",
        "rater",
        "note",
    ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["canker_length_mm"].unit = self.fields["canker_width_mm"].unit = "mm"

    def reading(self, tree):
        return Reading(tree, **{name: self.cleaned_data[name] for name, *_ in READINGS})


class RatingCorrectForm(RatingForm):
    tree = CodeField(PedigreeTree, label="Tree", help_text="Its code. Change it when the score was entered for the wrong tree.")
    reason = forms.CharField(label="Why it is corrected", max_length=200, help_text="The first rating stays on record.")
    field_order = ["tree", *RatingForm.field_order, "reason"]


class RatingScaleForm(RecordForm):
    class Meta:
        model = RatingScale
        fields = ["name", "version", "disease", "lowest", "highest", "step", "low_means", "high_means", "source"]
        help_texts = {
            "version": "A changed scale is a new version. Scores of two versions are not compared.",
            "disease": "One scale measures one disease.",
            "step": "1 for whole points, 0.5 for half points.",
            "low_means": "Such as: no canker, or every canker closed by callus.",
            "source": "The protocol it is taken from.",
        }


class RatingFilters(FilterForm):
    scale = forms.ModelChoiceField(RatingScale.objects.all(), label="ratings on", required=False, empty_label="any scale")
    method = pick("by", "any method", choices.rating_methods)
    since = forms.DateField(label="from", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    until = forms.DateField(label="to", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    text = words("of trees with", ("tree__code", "tree__orchard", "tree__block", "rater"))
    exact = {"scale": "scale", "method": "method", "since": "rated_on__gte", "until": "rated_on__lte"}
