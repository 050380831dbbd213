"""Tools of a lot that store nothing: seeds for trees, count and mass, seed for a bed, the stratification calendar."""

from django.utils.functional import cached_property

from registry.calc.lots.seed_mass import mass_of_seeds_g
from registry.calc.lots.stratification import calendar_for_sowing, calendar_from_start
from registry.calc.shared.screen import amount_words
from registry.choices import LotKind
from registry.forms.lots.lot_tools import BedForm, CalendarForm, CountMassForm, TreesForm
from registry.models import Lot
from registry.selectors.lots.handbook import handbook_periods, handbook_row, verified_words
from registry.selectors.lots.seed_tests import lot_figures, lot_tests
from registry.views.lots.sections import calendar_section
from registry.views.lots.words import periods_words
from registry.views.shared.details import RecordToolView


class SeedToolView(RecordToolView):
    """A tool of a seed lot, which starts from the handbook row of its species."""

    model = Lot
    action = "lot.view"
    related = ("taxon",)
    read = staticmethod(lambda lots: lots.filter(kind=LotKind.SEED))

    handbook = cached_property(lambda page: handbook_row(page.object.taxon.name))


class LotToolsView(SeedToolView):
    template_name = "registry/lots/lot_tools.html"
    question = "How many seeds, how heavy, for how many trees?"
    title = "Seed calculator for {object.code}"

    figures = cached_property(lambda page: lot_figures(page.object, lot_tests(page.object, page.handbook), page.handbook))

    @cached_property
    def tools(self):
        figures = self.figures
        return [
            self.tool(
                "trees", TreesForm, self.trees_answer,
                title="Seeds for trees",
                note=f"Germination: {figures.germination_from or 'no test and no handbook figure; enter your own'}.",
                submit="How many seeds",
                warning="This assumes that each seed lives or dies on its own. A frost or a mouse takes many at once: add a reserve.",
            ),
            self.tool(
                "mass", CountMassForm, self.mass_answer,
                title="Count and mass",
                note=f"Seeds per kg: {figures.per_kg_from or 'neither weighed nor in the handbook; enter your own'}.",
                submit="Convert",
            ),
            self.tool(
                "bed", BedForm, self.bed_answer,
                title="Seed for a bed",
                note="Weight = area × density / (seeds per kg × purity × germination × survival): Williams & Hanks 1976, from memory.",
                submit="How much seed",
            ),
        ]  # fmt: skip

    def tool(self, key, form_class, answer, **words):
        """A tool with its form, and its answer once a valid form was sent."""
        sent = self.request.GET.get("tool") == key
        form = form_class(self.request.GET if sent else None, prefix=key, initial=self.first_values())
        return {"id": key, "form": form, "answer": answer(form.answer()) if sent and form.is_valid() else None} | words

    def first_values(self):
        figures = self.figures
        return {
            "per_kg": figures.per_kg and round(figures.per_kg, 2),
            "germination": figures.germination_share and round(100 * figures.germination_share, 1),
            "purity": 100 if figures.purity_share is None else round(100 * figures.purity_share, 1),
        }

    def trees_answer(self, need):
        balance = self.object.balance
        answer = [
            ("On average", amount_words(need.expected, "seeds"), None),
            (f"With {100 * need.confidence:g} % confidence", amount_words(need.sure, "seeds"), None),
            ("Share of seeds that become trees", f"{100 * need.share:.1f} %", None),
            ("In the lot", f"{amount_words(balance, 'seeds')}: {'enough' if balance >= need.sure else 'not enough'}", None),
        ]
        if self.figures.per_kg:
            grams = mass_of_seeds_g(need.sure, self.figures.per_kg)
            answer.append(("Their mass", f"{grams:,.0f} g, by {self.figures.per_kg_from}", None))
        return answer

    @staticmethod
    def mass_answer(pair):
        seeds, mass_g = pair
        return [("Seeds", f"{seeds:,}", None), ("Mass", f"{mass_g:,.1f} g", None)]

    @staticmethod
    def bed_answer(kilograms):
        return [("To sow", f"{kilograms:,.3f} kg", None)]


class LotCalendarView(SeedToolView):
    template_name = "registry/lots/lot_calendar.html"
    question = "When does stratification start, when does the seed go into the cold, when can it be sown?"
    title = "Stratification calendar of {object.code}"

    periods = cached_property(lambda page: handbook_periods(page.handbook) if page.handbook else None)

    def handbook_words(self):
        return periods_words(self.handbook), verified_words(self.handbook)

    @cached_property
    def form(self):
        sent = self.request.GET.get("start_on") or self.request.GET.get("sow_on")
        return CalendarForm(self.request.GET if sent else None) if self.periods else None

    @cached_property
    def calendar_steps(self):
        if not self.form or not self.form.is_valid():
            return ()
        start_on, sow_on = self.form.cleaned_data["start_on"], self.form.cleaned_data["sow_on"]
        try:
            return calendar_from_start(start_on, *self.periods) if start_on else calendar_for_sowing(sow_on, *self.periods)
        except ValueError as error:
            self.form.add_error("start_on", str(error))
            return ()

    def calendar(self):
        return calendar_section().draw(self) or ()

    def get_context_data(self, **kwargs):
        return super().get_context_data(form=self.form, **kwargs)
