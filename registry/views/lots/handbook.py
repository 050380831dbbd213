"""The handbook of species: what a printed source says about a species, row by row, each with its source."""

from registry.forms.lots.handbook import HandbookFilters, HandbookForm, VerifyForm
from registry.models import SpeciesHandbook
from registry.selectors.duties.duty_line import Duty
from registry.selectors.lots.handbook import handbook_problems, stated_bath, unverified_words, verified_words
from registry.services.lots.storage import handbook_save, handbook_verify
from registry.views.lots.words import period_words, seeds_words
from registry.views.pedigree.taxa import MATERIAL_LISTS
from registry.views.shared.details import RecordDetailView
from registry.views.shared.forms import RecordActionView, RecordFormView
from registry.views.shared.lists import RecordListView
from registry.views.shared.sections import Action, Fact
from registry.views.shared.tables import Column, Link


def bath_words(row):
    """'47 to 50 °C for 20 minutes, against weevils (source)' where the row states a bath."""
    bath = stated_bath(row)
    return f"{bath.words} ({bath.source})" if bath else ""


class HandbookListView(RecordListView):
    model = SpeciesHandbook
    action = "handbook.view"
    title = "Handbook of species"
    question = "What does the handbook say about a species, and has anyone checked it against the printed page?"
    unit = "rows"
    filter_form = HandbookFilters
    others = MATERIAL_LISTS
    add = ("New handbook row", "handbook.edit", "handbook_add")
    empty = ("No rows yet", "Enter what a handbook prints about your species, with its source. Nothing is built in.", None)
    columns = (
        Column("Species", "binomial", kind="latin", url=Link("handbook_detail")),
        Column("Seeds per kg", lambda row: seeds_words(row, "kg"), "right"),
        Column("Warm", lambda row: period_words(row, "warm")),
        Column("Cold", lambda row: period_words(row, "cold")),
        Column("Germination (%)", lambda row: "" if row.germination_percent is None else f"{row.germination_percent:g}", "right"),
        Column("Source", "source", wide=True),
        Column("Verified", lambda row: "not verified" if unverified_words(row) else "yes", kind="state"),
    )


def _germination_words(page):
    row = page.object
    samples = f", {row.germination_samples:,} samples" if row.germination_samples else ""
    return "" if row.germination_percent is None else f"{row.germination_percent:g} %{samples}"


def _use_by_words(page):
    row = page.object
    return f"day {row.use_by_day} of month {row.use_by_month}, after the harvest" if row.use_by_month else ""


class HandbookDetailView(RecordDetailView):
    model = SpeciesHandbook
    action = "handbook.view"
    question = "What does this source print about the species?"
    where = "source"
    state = property(lambda page: verified_words(page.object))
    title = "{object.binomial}"
    trace_code = ""
    facts = (
        Fact("Seeds per kg: mean (range)", lambda page: seeds_words(page.object, "kg")),
        Fact("Seeds per lb: mean (range)", lambda page: seeds_words(page.object, "lb")),
        Fact("Warm period", lambda page: period_words(page.object, "warm")),
        Fact("Cold period", lambda page: period_words(page.object, "cold")),
        Fact("Test, day/night", lambda page: page.object.test_temperature and f"{page.object.test_temperature} °C"),
        Fact("Days of the test", "test_days"),
        Fact("Germination", _germination_words),
        Fact("Storage", "get_storage_class_display"),
        Fact("Use by", _use_by_words),
        Fact("What is picked", "fruit"),
        Fact("Hot water bath", lambda page: bath_words(page.object)),
        Fact("Source", "source", always=True),
        Fact("Note", "note"),
    )
    actions = (
        Action("Mark as verified", "handbook_verify", "handbook.edit", when=lambda page: unverified_words(page.object)),
        Action("Change the row", "handbook_edit", "handbook.edit"),
    )

    def get_due(self):
        due = [Duty("odd", message) for _column, message in handbook_problems(self.object)]
        if unverified := unverified_words(self.object):
            text = f"This row is {unverified}. Check its figures against the page before you rely on them."
            due.append(Duty("info", text))
        return due


class HandbookFormView(RecordFormView):
    model = SpeciesHandbook
    action = "handbook.edit"
    form_class = HandbookForm
    service = handbook_save
    argument = "row"
    question = "What does the page print? Leave a box empty where it prints nothing."
    submit_label = "Save the row"


class HandbookVerifyView(RecordActionView):
    model = SpeciesHandbook
    action = "handbook.edit"
    form_class = VerifyForm
    service = handbook_verify
    argument = "row"
    person_box = "by"
    title = "Verify {object.binomial}"
    question = "Was every figure of this row checked against the printed page?"
    submit_label = "Mark as verified"
    success_message = "Handbook row verified. If a figure changes later, the row counts as not verified again."
