"""Tests, treatments and the storage log of a lot: their forms, and the page of one test."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404
from django.utils.functional import cached_property

from registry.calc.lots.germination import TABLE_SOURCE
from registry.calc.shared.screen import day_words
from registry.choices import SeedTestKind, TreatmentKind
from registry.forms.lots.lot_steps import StorageForm, TreatmentForm
from registry.forms.lots.seed_tests import TEST_FORMS
from registry.models import Lot, SeedTest
from registry.selectors.lots.handbook import dies_dry_or_frozen, handbook_row, hot_water_bath
from registry.selectors.lots.lot_steps import treatment_warnings
from registry.selectors.lots.seed_tests import seed_test_draw, seed_test_result
from registry.services.lots.seed_tests import seed_test_correct, seed_test_enter, treatment_enter
from registry.services.lots.storage import storage_enter
from registry.views.lots.ledger import quantity_at
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import RecordActionView, RecordDetailView, reverse_to
from registry.views.shared.section_views import allowed
from registry.views.shared.tables import Column, ledger_table

_CAUTIONS = {
    TreatmentKind.HOT_WATER: {
        "title": "Hot water scalds, and a degree decides",
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


class KindFormView(RecordActionView):
    """A form of one of several kinds, named in the address (`?kind=`) and chosen above the form."""

    model = Lot
    template_name = "registry/lots/lot_kind_form.html"
    kinds = first_kind = None

    @cached_property
    def kind(self):
        kind = self.request.GET.get("kind") or self.first_kind
        if kind not in self.kinds.values:
            raise Http404("There is no such kind.")
        return self.kinds(kind)

    def get_context_data(self, **kwargs):
        kinds = [(kind.label, f"?{urlencode({'kind': kind.value})}", kind == self.kind) for kind in self.kinds]
        return super().get_context_data(**kwargs) | {"kinds": kinds}


class SeedTestAddView(KindFormView):
    action = "seedtest.enter"
    question = "What did the sample show? Enter counts and weights; the site works out the rest."
    submit_label = "Enter the test"
    kinds = SeedTestKind
    first_kind = SeedTestKind.GERMINATION

    def get_form_class(self):
        return TEST_FORMS[self.kind]

    def get_title(self):
        return f"{self.kind.label.capitalize()} of {self.object.code}"

    def get_initial(self):
        return {"tested_by": str(self.request.user)}

    def perform(self, form):
        with quantity_at("drawn"):
            return seed_test_enter(actor=self.request.user, lot=self.object, kind=self.kind, **form.values())

    def get_success_message(self):
        result = seed_test_result(self.result, handbook_row(self.object.taxon.name))
        return " ".join(part for part in (f"Entered: {result.headline}.", result.warning or result.judgement) if part)


class SeedTestDetailView(RecordDetailView):
    model = SeedTest
    action = "lot.view"
    question = "What was measured, what does it say, and do the replicates agree?"

    def get_title(self):
        return f"{self.object.get_kind_display().capitalize()} of {self.object.lot.code}"

    def get_queryset(self):
        return super().get_queryset().select_related("lot__taxon", "entry", "entered_by", "supersedes", "superseded_by")

    def get_page(self):
        test, user = self.object, self.request.user
        self.result = seed_test_result(test, handbook_row(test.lot.taxon.name))
        correct = () if self.result.superseded_by else (("Correct this test", "seedtest.enter", reverse_to("seedtest_correct", test.pk)),)
        return {
            "state": self.result.headline,
            "where": f"tested {day_words(test.tested_on)}",
            "chain": [
                {"label": "seed lot", "code": test.lot.code, "url": lot_url(test.lot)},
                {"label": "test", "code": test.get_kind_display(), "note": f"{day_words(test.tested_on)}", "current": True},
            ],
            "due": self.get_duties(),
            "actions": allowed(user, *correct),
            "facts": self.get_facts(),
            "parts": [self.replicates_table()] if test.replicates.exists() else [],
        }

    def get_duties(self):
        later = self.result.superseded_by
        duties = [{"text": self.result.warning, "severity": "odd"}] if self.result.warning else []
        if later:
            text = f"Corrected on {day_words(later.tested_on)}: {later.reason}. The later test counts."
            duties.append({"text": text, "severity": "info", "url": reverse_to("seedtest_detail", later.pk)})
        return duties

    def get_facts(self):
        test, draw = self.object, seed_test_draw(self.object)
        figures = (
            ("Seeds in the sample", test.seeds), ("Sank" if test.kind == SeedTestKind.FLOAT else "Sound", test.sound),
            ("With insects", test.infested), ("Mouldy", test.mouldy), ("Empty", test.empty), ("Container", _grams(test.container_g)),
            ("With seed before drying", _grams(test.wet_g)), ("With seed after drying", _grams(test.dry_g)),
            ("Pure seed", _grams(test.pure_g)), ("Whole sample", _grams(test.sample_g)), ("Temperature and days", test.regime),
        )  # fmt: skip
        facts = [("Result", self.result.headline, None), ("Judgement", self.result.judgement or "none is made of this kind", None)]
        if test.kind == SeedTestKind.GERMINATION:
            facts.append(("Judged by", TABLE_SOURCE, None))
        facts += [(label, value, None) for label, value in figures if value not in (None, "")]
        facts += [
            ("Tested by", test.tested_by, None),
            ("Seeds used up", f"{-draw.quantity:,}" if draw else "none left the ledger", None),
            ("Entered by", f"{test.entered_by}, {day_words(test.entered_at)}", None),
            ("Note", test.note, None),
        ]
        if test.supersedes:
            facts.append(
                (
                    "Corrects",
                    f"the test of {day_words(test.supersedes.tested_on)}: {test.reason}",
                    reverse_to("seedtest_detail", test.supersedes_id),
                )
            )
        return facts

    def replicates_table(self):
        mass = self.object.kind == SeedTestKind.MASS
        columns = (
            Column("No.", "number"),
            Column("Seeds", "seeds", "right", "number"),
            Column("Mass (g)" if mass else "Germinated", "mass_g" if mass else "germinated", "right"),
        )
        return ledger_table("Replicates", columns, self.object.replicates.all(), unit="replicates")


class SeedTestCorrectView(RecordActionView):
    model = SeedTest
    action = "seedtest.enter"
    template_name = "registry/lots/lot_kind_form.html"
    question = "What are the right figures? The old ones stay in the book beside them."
    submit_label = "Enter the correction"
    success_message = "Corrected. Both tests stay; the later one counts."

    def get_form_class(self):
        return TEST_FORMS[self.object.kind]

    def get_form_kwargs(self):
        draw = seed_test_draw(self.object)
        initial = self.get_form_class().initial_of(self.object, -draw.quantity if draw else 0)
        return super().get_form_kwargs() | {"test": self.object, "initial": initial}

    def get_title(self):
        return f"Correct the {self.object.get_kind_display()} of {self.object.lot.code}"

    def perform(self, form):
        with quantity_at("drawn"):
            return seed_test_correct(actor=self.request.user, test=self.object, **form.values())

    def get_success_url(self):
        return lot_url(self.object.lot)


class TreatmentAddView(KindFormView):
    action = "treatment.enter"
    form_class = TreatmentForm
    question = "What was done, how hot, how long, and by whom?"
    submit_label = "Enter the treatment"
    kinds = TreatmentKind

    @property
    def first_kind(self):
        return TreatmentKind.HOT_WATER if hot_water_bath(self.object.taxon.name) else TreatmentKind.COLD

    def get_title(self):
        return f"{self.kind.label.capitalize()} of {self.object.code}"

    def get_initial(self):
        return {"operator": str(self.request.user)}

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"kind": self.kind}

    def get_cautions(self):
        caution = _CAUTIONS.get(self.kind)
        if self.kind == TreatmentKind.HOT_WATER:
            caution = caution | {"lines": [*_bath_lines(self.object.taxon.name), *caution["lines"]]}
        return [caution] if caution else []

    def perform(self, form):
        treatment = treatment_enter(actor=self.request.user, lot=self.object, kind=self.kind, **form.cleaned_data)
        for words in treatment_warnings(treatment, hot_water_bath(self.object.taxon.name)):
            messages.warning(self.request, words)
        return treatment

    def get_success_message(self):
        return "Entered as it was done."


class StorageAddView(RecordActionView):
    model = Lot
    action = "storage.enter"
    form_class = StorageForm
    question = "How is it in store? Look monthly, take out what is mouldy, write down how many."
    submit_label = "Enter the look"
    success_message = "Entered in the storage log."

    def get_title(self):
        return f"Storage of {self.object.code}"

    def get_initial(self):
        return {"by": str(self.request.user), "place": self.object.storage_place}

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"lot": self.object}

    def get_cautions(self):
        if not dies_dry_or_frozen(handbook_row(self.object.taxon.name)):
            return []
        return [
            {
                "title": "This seed dies when it dries out or freezes",
                "text": "Damp, not wet, vented, at 1 to 4 °C; no apples or pears in the same fridge (common practice, no source). "
                "A sprouted nut is still good: handle it least possible, a broken root costs a tree.",
            }
        ]

    def perform(self, form):
        with quantity_at("discarded"):
            return storage_enter(actor=self.request.user, lot=self.object, **form.values())


def _bath_lines(binomial):
    """What the handbook says of the bath of this species, or that it says nothing."""
    bath = hot_water_bath(binomial)
    if not bath:
        return [f"The handbook here states no bath for {binomial}. Write down what was done; nothing is compared with it."]
    return [
        f"Handbook: {bath.words}. Source: {bath.source}.",
        f"Under {bath.low_c:g} °C the treatment against {bath.against} fails, over {bath.high_c:g} °C it kills the embryo.",
    ]


def _grams(value):
    return None if value is None else f"{value:g} g"
