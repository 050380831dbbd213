"""The handbook of the species: what a book says of a species, row by row, each with its source."""

from django.urls import reverse

from registry.calc.shared.screen import number_words
from registry.forms.lots.handbook import HandbookFilters, HandbookForm, VerifyForm
from registry.models import SpeciesHandbook
from registry.selectors.lots.handbook import NOT_VERIFIED, handbook_problems, stated_bath, verified_words
from registry.services.lots.storage import handbook_save, handbook_verify
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import SectionFormView, SectionListView, allowed
from registry.views.shared.tables import Column


def range_words(low, high, unit=""):
    """'90–120 days', '60 days', or nothing."""
    figures = [number_words(value, 6) for value in (low, high) if value is not None]
    text = figures[0] if len(set(figures)) == 1 else "–".join(figures)
    return f"{text} {unit}".strip() if text else ""


def seeds_words(row, unit):
    low, mean, high = (getattr(row, f"seeds_per_{unit}_{part}") for part in ("low", "mean", "high"))
    spread = range_words(low, high)
    if mean is None:
        return spread
    return f"{number_words(mean, 6)} ({spread})" if spread else number_words(mean, 6)


def period_words(row, name):
    """'90–120 days at 1–5 °C' of the warm or the cold period; 'none needed' where the book says nought."""
    low, high, at = (getattr(row, f"{name}_{part}") for part in ("days_low", "days_high", "temperature"))
    if high == 0:
        return "none needed"
    days = range_words(low, high, "days")
    return f"{days} at {at} °C" if days and at else days


def bath_words(row):
    """'47 to 50 °C for 20 minutes, against weevils (source)' where the row states a bath."""
    bath = stated_bath(row)
    return f"{bath.words} ({bath.source})" if bath else ""


class HandbookListView(SectionListView):
    model = SpeciesHandbook
    action = "handbook.view"
    title = "Handbook of species"
    question = "What does the book say of a species, and has anybody compared it with the printed page?"
    unit = "rows"
    filter_form = HandbookFilters
    others = MATERIAL_LISTS
    add = ("New handbook row", "handbook.edit", "handbook_add")
    empty = ("No row yet", "Enter what a handbook prints of your species, with its source. Nothing is built in.", None)
    columns = (
        Column("Species", "binomial", kind="latin", url=lambda row: reverse("handbook_detail", args=[row.pk])),
        Column("Seeds per kg", lambda row: seeds_words(row, "kg"), "right"),
        Column("Warm", lambda row: period_words(row, "warm")),
        Column("Cold", lambda row: period_words(row, "cold")),
        Column("Germination (%)", lambda row: "" if row.germination_percent is None else f"{row.germination_percent:g}", "right"),
        Column("Source", "source"),
        Column("Verified", lambda row: "yes" if row.verified_on else "not verified", kind="state"),
    )


class HandbookDetailView(RecordDetailView):
    model = SpeciesHandbook
    action = "handbook.view"
    question = "What does this source print of the species?"

    def get_title(self):
        return self.object.binomial

    def get_trace_code(self):
        return ""

    def get_page(self):
        row, user = self.object, self.request.user
        verify = ("State that it is verified", "handbook.edit", reverse_to("handbook_verify", row.pk))
        return {
            "state": verified_words(row),
            "where": row.source,
            "due": self.get_duties(),
            "actions": allowed(
                user, ("Change the row", "handbook.edit", reverse_to("handbook_edit", row.pk)), *(() if row.verified_on else (verify,))
            ),
            "facts": self.get_facts(),
        }

    def get_duties(self):
        duties = [{"text": message, "severity": "odd"} for _column, message in handbook_problems(self.object)]
        if not self.object.verified_on:
            text = f"This row is {NOT_VERIFIED}. Hold the page beside it before you rely on its figures."
            duties.append({"text": text, "severity": "info"})
        return duties

    def get_facts(self):
        row = self.object
        use_by = f"day {row.use_by_day} of month {row.use_by_month}, after the harvest" if row.use_by_month else ""
        samples = f", {row.germination_samples:,} samples" if row.germination_samples else ""
        return [
            ("Seeds per kg: mean (range)", seeds_words(row, "kg"), None),
            ("Seeds per lb: mean (range)", seeds_words(row, "lb"), None),
            ("Warm period", period_words(row, "warm"), None),
            ("Cold period", period_words(row, "cold"), None),
            ("Test, day/night", f"{row.test_temperature} °C" if row.test_temperature else "", None),
            ("Days of the test", row.test_days, None),
            ("Germination", "" if row.germination_percent is None else f"{row.germination_percent:g} %{samples}", None),
            ("Storage", row.get_storage_class_display(), None),
            ("Use by", use_by, None),
            ("What is picked", row.fruit, None),
            ("Hot water bath", bath_words(row), None),
            ("Source", row.source, None),
            ("Note", row.note, None),
        ]


class HandbookFormView(SectionFormView):
    model = SpeciesHandbook
    action = "handbook.edit"
    form_class = HandbookForm
    question = "What does the page print? Leave a box empty where it prints nothing."
    submit_label = "Save the row"

    def route_name(self):
        return "handbook"

    def save(self, record, many, form):
        return handbook_save(actor=self.request.user, row=record)


class HandbookVerifyView(RecordActionView):
    model = SpeciesHandbook
    action = "handbook.edit"
    form_class = VerifyForm
    question = "Was every figure of this row compared with the printed page?"
    submit_label = "State that it is verified"
    success_message = "Verified. A later change of a figure takes this back."

    def get_title(self):
        return f"Verify {self.object.binomial}"

    def get_initial(self):
        return {"by": str(self.request.user)}

    def get_cancel_url(self):
        return reverse_to("handbook_detail", self.object.pk)

    def perform(self, form):
        return handbook_verify(actor=self.request.user, row=self.object, **form.cleaned_data)
