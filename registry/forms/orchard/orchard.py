"""Forms of the orchard: the plan, decisions, measured shares, the programme's thresholds. Ratings have a file of their own."""

from django import forms

from registry import choices
from registry.forms.shared.fields import PastDateField, Picker, RecordForm, WordsShownField
from registry.forms.shared.filters import FilterForm, pick, words
from registry.models import MeasuredShare

__all__ = ["DecisionFilters", "DecisionForm", "PlanForm", "SettingForm", "ShareFilters", "ShareForm"]

PLAN_SHOWS = (("status", "status"), ("generation", "generation"), ("line", "recurrent line"), ("source", "source of resistance"))


class PlanForm(forms.Form):
    """Which plan, as of which day, and what each position shows; ratings by scale, because scales are never mixed."""

    orchard = forms.CharField(widget=forms.HiddenInput)
    block = forms.ChoiceField(label="block", required=False)
    on = PastDateField(label="as of", required=False)
    show = forms.ChoiceField(label="showing", required=False)

    def __init__(self, *args, blocks, scales, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["block"].choices = [("", "all blocks"), *((block, block) for block in blocks if block)]
        self.fields["show"].choices = [*PLAN_SHOWS, *((f"rating-{pk}", f"last rating: {scale}") for pk, scale in scales)]


class DecisionForm(forms.Form):
    """A decision on one tree. The box for the answer appears once the person has seen that a floor of diversity breaks."""

    decision = forms.ChoiceField(label="Decision", choices=choices.decisions, widget=forms.RadioSelect)
    decided_on = PastDateField(label="Decided on")
    evidence = forms.CharField(
        label="Evidence",
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="What was seen and measured: ratings, progeny, genotype, form.",
    )
    ratings = forms.ModelMultipleChoiceField(label="Ratings named as evidence", queryset=None, required=False, widget=Picker())
    method = forms.CharField(
        label="Method", max_length=160, required=False, help_text="How the tree was judged, such as own rating and progeny test."
    )
    first_name = forms.CharField(label="Decided by", max_length=80)
    second_name = forms.CharField(
        label="Agreed by", max_length=80, help_text="A second person, who then confirms it, signed in or by a link."
    )
    warnings_answer = forms.CharField(label="Reason to go below the floor", max_length=300, required=False)
    warnings_seen = WordsShownField()

    def __init__(self, *args, tree, lines, **kwargs):
        super().__init__(*args, **kwargs)
        self.tree = tree
        self.fields["ratings"].queryset = tree.ratings.filter(superseded_by__isnull=True)
        self.fields["ratings"].label_from_instance = lambda rating: lines[rating.pk]
        if not lines:
            del self.fields["ratings"]

    def ask_for_answer(self, warnings):
        """Show the answer box, and record in the form which warnings were shown."""
        self.data = self.data.copy()
        self.data["warnings_seen"] = self.fields["warnings_seen"].prepare_value(warnings)
        self.fields["warnings_answer"].required = True


class DecisionFilters(FilterForm):
    decision = pick("decisions that are", "of any kind", choices.decisions)
    status = pick("on trees that are", "in any state", choices.tree_statuses)
    since = forms.DateField(label="from", required=False, widget=forms.DateInput(attrs={"type": "date"}))
    text = words("with", ("tree__code", "tree__orchard", "first_name", "second_name", "evidence"))
    exact = {"decision": "decision", "status": "tree__status", "since": "decided_on__gte"}


class ShareFilters(FilterForm):
    text = words("shares with", ("tree__code", "lot__code", "laboratory", "method"))


class ShareForm(RecordForm):
    """A laboratory's figure for one tree, or for the mean of a sample of one lot."""

    donor_share = forms.DecimalField(
        label="Measured donor share", min_value=0, max_value=1, max_digits=5, decimal_places=4,
        help_text="The share of the donor species, as the laboratory gives it: 0.08 for 8 in 100.",
    )  # fmt: skip
    standard_error = forms.DecimalField(label="Standard error", min_value=0, max_value=1, max_digits=5, decimal_places=4, required=False)
    sampled_on = PastDateField(label="Sampled on")
    units = {"donor_share": "0 to 1", "standard_error": "0 to 1"}

    class Meta:
        model = MeasuredShare
        fields = [
            "donor_share", "standard_error", "sample_size", "markers", "method", "sampled_on", "laboratory", "reference", "note"
        ]  # fmt: skip
        help_texts = {
            "sample_size": "1 for a single tree; for a lot the number of plants whose mean this is.",
        }


class SettingForm(forms.Form):
    value = forms.CharField(label="Value", max_length=200)
    owner = forms.CharField(label="Who set it", max_length=80)
    set_on = PastDateField(label="Set on")
    basis = forms.CharField(label="Basis", max_length=200, required=False, help_text="A source, a meeting, or: common practice, no source.")
