"""Forms of the lots: the lot, its ledger, its components."""

from django import forms
from django.core.exceptions import ValidationError

from registry import choices
from registry.calc.shared.screen import amount_words
from registry.choices import LedgerKind, LotOrigin
from registry.forms.lots.lot_tools import MASS_MOST_G, most
from registry.forms.shared.fields import CodeField, GenerationForm, PastDateField, reason_field
from registry.models import Lot, PedigreeTree, PollenPool
from registry.selectors.lots.ledger_kinds import kinds_by_hand

# What each origin needs, and what belongs to one origin only; the database has the same rule.
_NEEDED = {
    LotOrigin.HARVEST: {"mother": "A harvest names its mother tree.", "year": "A harvest has its ripening year."},
    LotOrigin.SOWN: {"parent": "Name the lot it was raised from."},
    LotOrigin.SPLIT: {"parent": "Name the lot it is a part of."},
    LotOrigin.BULK: {},
    LotOrigin.OUTSIDE: {"outside_origin": "Say where it came from, as declared."},
}
_ONLY_FOR = {
    "mother": (LotOrigin.HARVEST,),
    "father": (LotOrigin.HARVEST,),
    "pollen_pool": (LotOrigin.HARVEST,),
    "parent": (LotOrigin.SOWN, LotOrigin.SPLIT),
    "outside_origin": (LotOrigin.OUTSIDE,),
    "declared_source": (LotOrigin.OUTSIDE,),
    "declared_line": (LotOrigin.OUTSIDE,),
}


def holding(lot):
    return amount_words(lot.balance, lot.unit)


class CrossForm(GenerationForm):
    """A form of a lot with its cross. A parent that was mistyped is not also reported as missing."""

    def _post_clean(self):
        told = {"father", "pollen_pool"} & set(self.errors)
        cross_told = "cross_type" in self.errors
        super()._post_clean()
        if told and not cross_told:
            self.errors.pop("cross_type", None)


class LotForm(CrossForm):
    mother = CodeField(PedigreeTree, label="Mother tree", required=False, help_text="Its code.")
    father = CodeField(
        PedigreeTree,
        label="Father tree",
        required=False,
        help_text="Only of a controlled cross. For open pollination give the pollen pool.",
    )
    pollen_pool = CodeField(PollenPool, label="Pollen pool", required=False, suggest=100)
    parent = CodeField(Lot, label="Raised from, or part of, lot", required=False, suggest=100, describe=holding)
    reason = reason_field()

    groups = [
        ("What it is", ("code", "kind", "taxon", "year", "generation", "generation_word")),
        ("Where it came from", ("origin",)),
        ("If it was harvested", ("mother", "father", "pollen_pool", "cross_type", "orchard_state")),
        ("If it was raised from another lot, or is a part of it", ("parent",)),
        ("If it came from outside", ("outside_origin", "declared_source", "declared_line")),
        ("Storage", ("storage_place", "use_by")),
    ]
    rarely = ("generation_word", "orchard_state", "declared_source", "declared_line")

    class Meta:
        model = Lot
        fields = [
            "code", "kind", "taxon", "year", "origin", "mother", "father", "pollen_pool", "cross_type", "orchard_state", "parent",
            "outside_origin", "declared_source", "declared_line", "storage_place", "use_by", "note",
        ]  # fmt: skip
        widgets = {"origin": forms.RadioSelect}
        labels = {"origin": "Origin", "outside_origin": "Outside origin, as declared"}
        help_texts = {
            "orchard_state": "Which neighbours had been rogued when it flowered.",
            "use_by": "Seed that must not dry out seldom lasts past 30 June after the harvest (common practice).",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["origin"].choices = LotOrigin.choices
        self.fields["cross_type"].required = False
        if self.instance.pk and self.instance.ledger.exists():
            # the ledger counts seeds or plants; that must not change once it has entries
            self.fields["kind"].disabled = True
            self.fields["kind"].help_text = "Fixed, because the ledger already has entries in this unit."

    def clean_cross_type(self):
        return self.cleaned_data["cross_type"] or choices.CrossType.UNKNOWN

    def clean(self):
        cleaned = super().clean()
        origin = cleaned.get("origin")
        for name, message in _NEEDED.get(origin, {}).items():
            if not cleaned.get(name) and name not in self.errors:
                self.add_error(name, message)
        for name, only in _ONLY_FOR.items():
            if origin and origin not in only and cleaned.get(name):
                self.add_error(name, f"Leave this blank for a {LotOrigin(origin).label}, or choose another origin.")
        return cleaned


class LedgerForm(forms.Form):
    kind = forms.ChoiceField(label="What happened")
    quantity = forms.IntegerField(
        label="How many", help_text="Without a plus or minus sign, except for a stock-take difference: −3 when three are missing."
    )
    on = PastDateField(label="On")
    mass_g = forms.FloatField(label="Mass", required=False, min_value=0.001, **most(MASS_MOST_G, "g"))
    counterpart = forms.ModelChoiceField(Lot.objects.none(), label="Other lot", required=False, empty_label="none")
    reference = forms.CharField(label="Your own number for this entry", required=False, max_length=60)
    reason = forms.CharField(label="Reason", required=False, max_length=200, help_text="Needed for a stock-take difference.")

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = [(kind, LedgerKind(kind).label) for kind in kinds_by_hand(lot)]
        self.fields["quantity"].unit = lot.unit
        self.fields["mass_g"].unit = "g"
        related = Lot.objects.filter(pk=lot.parent_id) | Lot.objects.filter(parent=lot)
        if related.exists():
            self.fields["counterpart"].queryset = related
            self.fields["counterpart"].help_text = "The lot it was raised from, or sown into."
        else:
            del self.fields["counterpart"]

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("kind") == LedgerKind.COUNTED and not cleaned.get("reason", "").strip():
            self.add_error("reason", "Say how the difference was found.")
        if cleaned.get("quantity") == 0:
            self.add_error("quantity", "The quantity is 0. Enter a number, or cancel.")
        return cleaned


class UnbulkForm(forms.Form):
    reason = forms.CharField(label="Why it was wrong", max_length=200)


class ReverseForm(forms.Form):
    reason = forms.CharField(label="Why it was wrong", max_length=200)
    on = PastDateField(label="Date of the reversal", required=False, help_text="Leave blank to use the date of the entry.", initial=None)


class BulkForm(forms.Form):
    component = CodeField(
        Lot, label="Component lot", suggest=100, describe=holding, help_text="Its code. Only lots that are not empty are offered."
    )
    count = forms.IntegerField(label="How many", min_value=1)
    on = PastDateField(label="Mixed on")
    reason = forms.CharField(label="Why they are mixed", required=False, max_length=200)

    def __init__(self, *args, bulk, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["component"].queryset = Lot.objects.filter(kind=bulk.kind, balance__gt=0).exclude(pk=bulk.pk)
        self.fields["count"].unit = bulk.unit

    def clean_component(self):
        component = self.cleaned_data["component"]
        if component is None:
            raise ValidationError("Name the lot that is mixed in.")
        return component
