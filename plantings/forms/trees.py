"""Forms of trees as planted: added, moved, re-tagged, replaced."""

from django import forms
from django.utils.translation import gettext_lazy as _

from plantings import choices
from plantings.models import Planting, Tree
from plantings.selectors.gate.facts import new_lots
from registry.calc.shared.screen import day_words
from registry.forms.shared.fields import CodeField, RecordForm
from registry.forms.shared.filters import FilterForm, pick, words
from registry.forms.shared.part_date_box import PartDateBox, PastPartDateBox
from registry.models import Lot

_PLACE = ("block", "row", "position", "longitude", "latitude", "accuracy_m", "point_is_right")


class PlantedTreeFilters(FilterForm):
    fate = pick(_("trees that are"), _("of any fate"), choices.tree_fates)
    role = pick(_("planted as"), _("anything"), choices.entry_roles)
    planting = CodeField(Planting, label=_("in planting"), required=False, search=("site__name",))
    lot = forms.CharField(label=_("of lot"), required=False, widget=forms.TextInput(attrs={"size": 12}))
    tag = words(_("with tag"), ("tag",))
    exact = {"fate": "fate", "role": "entry__role", "planting": "planting", "lot": "entry__lot__code__iexact"}


class TreeForm(RecordForm):
    """A tree at its place. Block is written by its code and made when the planting has none of that name."""

    block = forms.CharField(label="Block", max_length=40, required=False)
    point_is_right = forms.BooleanField(
        label="Point is right", required=False, help_text="Only after a question about its distance from the site."
    )
    planted_on = PartDateBox(label="Planted on, if different from the planting's day", required=False)

    class Meta:
        model = Tree
        fields = ["row", "position", "longitude", "latitude", "accuracy_m", "planted_on", "note"]
        labels = {
            "longitude": "Longitude (degrees, WGS 84)",
            "latitude": "Latitude (degrees, WGS 84)",
            "accuracy_m": "Accuracy of the point (m)",
        }
        help_texts = {
            "position": "Row and position together, or neither.",
            "latitude": "Longitude and latitude together, or neither.",
            "accuracy_m": "How far the point may be off, as the receiver shows it.",
        }  # fmt: skip


NEW_LOT_HELP = "The gate checks a lot that is new to a planting already in the ground, when it was planted in the last weeks."


def day_wanted(form, name):
    """Ask for the day on which a lot that is new to a planting was planted: the gate looks at what happens now."""
    planting, lot = form.cleaned_data.get("planting"), form.cleaned_data.get("lot")
    if not (planting and lot) or form.cleaned_data.get(name) or name in form.errors:
        return
    if new_lots(planting, [lot]) and planting.entries.exists():
        form.add_error(
            name, f"Lot {lot.code} is new to {planting.code}, planted on {day_words(planting.planted_on)}. Say when this one was planted."
        )


class TreeAddForm(TreeForm):
    field_order = ["planting", "tag", "lot", "role", *_PLACE, "planted_on", "note"]
    planting = CodeField(Planting, label="Planting", suggest=200, search=("site__name",))
    lot = CodeField(Lot, label="Lot", suggest=200, help_text=NEW_LOT_HELP)
    role = forms.ChoiceField(label="Role", choices=choices.entry_roles, help_text="Only test and check trees are counted.")

    class Meta(TreeForm.Meta):
        fields = ["tag", *TreeForm.Meta.fields]
        help_texts = TreeForm.Meta.help_texts | {"tag": "Once in a planting, and never given to another tree."}

    def clean(self):
        values = super().clean()
        day_wanted(self, "planted_on")
        return values


class TreeMoveForm(TreeForm):
    field_order = [*_PLACE, "planted_on", "note", "reason"]
    reason = forms.CharField(label="Why it is changed", max_length=200)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["block"].initial = self.instance.block.code if self.instance.block else ""


class RetagForm(forms.Form):
    tag = forms.CharField(label="New tag", max_length=40)
    on = PastPartDateBox(label="Changed on")
    reason = forms.CharField(label="Why", max_length=200, help_text="Such as: lost, unreadable, swallowed by the stem.")


class ReplaceForm(forms.Form):
    tag = forms.CharField(label="Tag of the replacement", max_length=40, help_text="A new tag. The old number is never used again.")
    planted_on = PastPartDateBox(label="Planted on")
    lot = CodeField(Lot, label="Lot, if different from the original's", suggest=200, required=False, help_text=NEW_LOT_HELP)
    note = forms.CharField(label="Why it is replaced", required=False, widget=forms.Textarea(attrs={"rows": 3}))
