"""The form of a review: which records, what is decided, and why."""

from django import forms

from plantings.choices import ReviewState
from plantings.services.census.reviews import REASON_LENGTH_MAX
from registry.calc.shared.record_keys import is_record_key

RECORDS_AT_ONCE = 5_000


class ReviewForm(forms.Form):
    """`record` and `count` (of a plot) come from ticked boxes, `records` and `counts` from the hidden lists of those without a finding."""

    decision = forms.ChoiceField(choices=ReviewState.choices, error_messages={"required": "Choose what to do with the records."})
    reason = forms.CharField(
        label="Reason", required=False, max_length=REASON_LENGTH_MAX,
        help_text="Needed to ask back and to reject. The crew reads it.",
    )  # fmt: skip

    def clean(self):
        cleaned = super().clean()
        self.keys, self.count_keys = self._keys("record"), self._keys("count")
        if not self.keys and not self.count_keys:
            self.add_error(None, "No record is ticked. Tick the records that the decision is for.")
        elif len(self.keys) + len(self.count_keys) > RECORDS_AT_ONCE:
            self.add_error(None, f"Decide about at most {RECORDS_AT_ONCE:,} records at a time.")
        return cleaned

    def _keys(self, name):
        given = [*self.data.getlist(name), *(key for keys in self.data.getlist(f"{name}s") for key in keys.split(","))]
        return {int(key) for key in given if is_record_key(key)}
