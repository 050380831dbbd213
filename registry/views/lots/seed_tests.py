"""Tests, treatments and storage checks of a lot: their forms, and the page of one test."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404
from django.utils.functional import cached_property

from registry.calc.shared.screen import day_words
from registry.choices import SeedTestKind, TreatmentKind
from registry.forms.lots.lot_steps import StorageForm, TreatmentForm
from registry.forms.lots.seed_tests import TEST_FORMS
from registry.models import SeedTest
from registry.selectors.duties.duty_line import Duty
from registry.selectors.lots.handbook import dies_dry_or_frozen, handbook_row, hot_water_bath
from registry.selectors.lots.lot_steps import treatment_warnings
from registry.selectors.lots.seed_tests import seed_test_draw, seed_test_result
from registry.services.lots.seed_tests import seed_test_correct, seed_test_enter, treatment_enter
from registry.services.lots.storage import storage_enter
from registry.views.lots.ledger import LotLedgerActionView, quantity_at
from registry.views.shared.addresses import record_url
from registry.views.shared.details import RecordDetailView, chain_step
from registry.views.shared.forms import RecordActionView
from registry.views.shared.sections import Action, Fact, Section
from registry.views.shared.tables import Column, Link

_CAUTIONS = {
    TreatmentKind.HOT_WATER: {
        "title": "Hot water scalds. Keep the temperature within 1 °C of the target.",
        "lines": [
            "Keep the thermometer in the water among the seed, stir, and cool the seed at once afterwards.",
            "Wear gloves; lift baskets by two people; dry the floor.",
        ],
    },
    TreatmentKind.SURFACE: {
        "title": "Bleach: dilute, and minutes only",
        "lines": [
            "A soak kills the embryo. Rinse with clean water afterwards.",
            "Gloves and eye protection, open air. Never mix bleach with any other cleaner or acid: the gas can kill.",
        ],
    },
    TreatmentKind.PESTICIDE: {
        "title": "A pesticide needs a licensed person, and the label is the law",
        "lines": [
            "Follow the label on crop, rate, protective clothing and re-entry. What the label does not name is not for this seed.",
            "Check with the local authority whether it may be used here and who may apply it.",
            "Label treated seed, and keep it away from food and feed.",
        ],
        "decider": "the licence holder",
    },
    TreatmentKind.OTHER: {
        "title": "Chemicals, heat and cold",
        "lines": ["Follow the label or the safety sheet of what you use, and the local rules of your workplace."],
    },
}


class KindFormView(LotLedgerActionView):
    """A form of one of several kinds, named in the address (`?kind=`) and chosen above the form."""

    template_name = "registry/lots/lot_kind_form.html"
    form_extras = {}
    kind_choices = first_kind = None
    title = property(lambda page: f"{page.kind.label.capitalize()} of {page.object.code}")

    @cached_property
    def kind(self):
        kind = self.request.GET.get("kind") or self.first_kind
        if kind not in self.kind_choices.values:
            raise Http404("There is no such kind.")
        return self.kind_choices(kind)

    def kinds(self):
        """(label, address, whether it is this one) of each kind."""
        return [(kind.label, f"?{urlencode({'kind': kind.value})}", kind == self.kind) for kind in self.kind_choices]


class SeedTestAddView(KindFormView):
    action = "seedtest.enter"
    service = seed_test_enter
    question = "What did the sample show? Enter counts and weights; Mastbook calculates the rest."
    submit_label = "Save the test"
    person_box = "tested_by"
    quantity_box = "drawn"
    kind_choices = SeedTestKind
    first_kind = SeedTestKind.GERMINATION
    form_class = property(lambda page: TEST_FORMS[page.kind])

    def values(self, form):
        return super().values(form) | {"kind": self.kind}

    @property
    def success_message(self):
        result = seed_test_result(self.result, handbook_row(self.object.taxon.name))
        saved = f"{self.kind.label.capitalize()} saved: {result.headline}."
        return " ".join(part for part in (saved, result.warning or result.judgement) if part)


def _measured(label, name, unit=""):
    """A fact with a measured number of a test, left out where it was not measured."""

    def value(page):
        number = getattr(page.object, name)
        return None if number is None else f"{number:g} {unit}".strip() if unit else number

    return Fact(label, value)


def _corrected_test(page):
    test = page.object
    return f"the test of {day_words(test.supersedes.tested_on)}: {test.reason}" if test.supersedes else ""


class SeedTestDetailView(RecordDetailView):
    model = SeedTest
    action = "lot.view"
    question = "What was measured, what does it say, and do the replicates agree?"
    related = ("lot__taxon", "entry", "entered_by", "supersedes", "superseded_by")
    state = property(lambda page: page.result.headline)
    where = property(lambda page: f"tested {day_words(page.object.tested_on)}")
    title = property(lambda page: f"{page.object.get_kind_display().capitalize()} of {page.object.lot.code}")
    facts = (
        Fact("Result", lambda page: page.result.headline),
        Fact("Judgement", lambda page: page.result.judgement or "none for this kind of test"),
        Fact("Judged by", lambda page: page.result.source),
        _measured("Seeds in the sample", "seeds"),
        _measured(lambda page: "Sank" if page.object.kind == SeedTestKind.FLOAT else "Sound", "sound"),
        _measured("With insects", "infested"),
        _measured("Mouldy", "mouldy"),
        _measured("Empty", "empty"),
        _measured("Container", "container_g", "g"),
        _measured("With seed before drying", "wet_g", "g"),
        _measured("With seed after drying", "dry_g", "g"),
        _measured("Pure seed", "pure_g", "g"),
        _measured("Whole sample", "sample_g", "g"),
        Fact("Temperature and days", "regime"),
        Fact("Tested by", "tested_by"),
        Fact("Seeds used up", lambda page: f"{-page.draw.quantity:,}" if page.draw else "none left the ledger"),
        Fact("Entered by", lambda page: f"{page.object.entered_by}, {day_words(page.object.entered_at)}"),
        Fact("Note", "note"),
        Fact("Corrects", _corrected_test, Link("seedtest_detail", "supersedes_id")),
    )
    actions = (Action("Correct this test", "seedtest_correct", "seedtest.enter", when=lambda page: not page.result.superseded_by),)
    sections = (
        Section(
            title="Replicates",
            unit="replicates",
            rows=lambda page: page.object.replicates.all(),
            columns=lambda page, _rows: (
                Column("No.", "number"),
                Column("Seeds", "seeds", "right", "number"),
                Column("Mass (g)", "mass_g", "right") if page.is_mass else Column("Germinated", "germinated", "right"),
            ),
        ),
    )

    result = cached_property(lambda page: seed_test_result(page.object, handbook_row(page.object.lot.taxon.name)))

    @cached_property
    def draw(self):
        """The ledger entry of the seeds the test used up."""
        return seed_test_draw(self.object)

    is_mass = property(lambda page: page.object.kind == SeedTestKind.MASS)

    def get_chain(self):
        test = self.object
        return [
            chain_step("seed lot", test.lot.code, record_url(test.lot)),
            chain_step("test", test.get_kind_display(), note=day_words(test.tested_on), current=True),
        ]

    def get_due(self):
        later = self.result.superseded_by
        due = [Duty("odd", self.result.warning)] if self.result.warning else []
        if later:
            text = f"Corrected on {day_words(later.tested_on)}: {later.reason}. The later test counts."
            due.append(Duty("info", text, url=record_url(later)))
        return due


class SeedTestCorrectView(RecordActionView):
    model = SeedTest
    action = "seedtest.enter"
    template_name = "registry/lots/lot_kind_form.html"
    service = seed_test_correct
    argument = "test"
    form_extras = property(lambda page: {"test": page.object})
    question = "What are the right figures? The old ones stay on record beside them."
    submit_label = "Save the correction"
    success_message = "Correction saved. Both tests stay on record; the later one counts."
    form_class = property(lambda page: TEST_FORMS[page.object.kind])
    title = property(lambda page: f"Correct the {page.object.get_kind_display()} of {page.object.lot.code}")
    leads_to = property(lambda page: page.object.lot)

    @property
    def initial(self):
        draw = seed_test_draw(self.object)
        return self.get_form_class().initial_of(self.object, -draw.quantity if draw else 0)

    def perform(self, form):
        with quantity_at("drawn"):
            return super().perform(form)


class TreatmentAddView(KindFormView):
    action = "treatment.enter"
    form_class = TreatmentForm
    service = treatment_enter
    question = "What was done, how hot, how long, and by whom?"
    submit_label = "Save the treatment"
    success_message = "Treatment saved."
    person_box = "operator"
    kind_choices = TreatmentKind

    first_kind = property(lambda page: TreatmentKind.HOT_WATER if hot_water_bath(page.object.taxon.name) else TreatmentKind.COLD)
    form_extras = property(lambda page: {"kind": page.kind})

    @property
    def cautions(self):
        caution = _CAUTIONS.get(self.kind)
        if self.kind == TreatmentKind.HOT_WATER:
            caution = caution | {"lines": [*_bath_lines(self.object.taxon.name), *caution["lines"]]}
        return [caution] if caution else []

    def values(self, form):
        return super().values(form) | {"kind": self.kind}

    def perform(self, form):
        treatment = super().perform(form)
        for words in treatment_warnings(treatment, hot_water_bath(self.object.taxon.name)):
            messages.warning(self.request, words)
        return treatment


_STORAGE_CAUTION = {
    "title": "This seed dies when it dries out or freezes",
    "text": "Store it damp, not wet, vented, at 1 to 4 °C; no apples or pears in the same fridge (common practice, no source). "
    "A sprouted seed is still good. Handle it as little as possible: without its root it does not grow.",
}


class StorageAddView(LotLedgerActionView):
    action = "storage.enter"
    form_class = StorageForm
    service = storage_enter
    title = "Storage of {object.code}"
    question = "What condition is it in? Check it monthly, take out what is mouldy, and write down how many."
    submit_label = "Save the storage check"
    success_message = "Storage check saved."
    person_box = "by"
    quantity_box = "discarded"
    initial = property(lambda page: {"place": page.object.storage_place})
    cautions = property(lambda page: [_STORAGE_CAUTION] if dies_dry_or_frozen(handbook_row(page.object.taxon.name)) else [])


def _bath_lines(binomial):
    """What the handbook says about the bath of this species, or that it says nothing."""
    bath = hot_water_bath(binomial)
    if not bath:
        return [f"The handbook here states no bath for {binomial}. Enter what was done; it is not checked against any figures."]
    return [
        f"Handbook: {bath.words}. Source: {bath.source}.",
        f"Under {bath.low_c:g} °C the treatment against {bath.against} fails, over {bath.high_c:g} °C it kills the embryo.",
    ]
