"""Tools of a lot that store nothing: seeds for trees, count and mass, seed for a bed, the stratification calendar."""

from registry.calc.lots.seed_mass import mass_of_seeds_g
from registry.calc.lots.stratification import calendar_for_sowing, calendar_from_start
from registry.calc.shared.screen import amount_words
from registry.choices import LotKind
from registry.forms.lots.lot_tools import BedForm, CalendarForm, CountMassForm, TreesForm
from registry.models import Lot
from registry.selectors.lots.handbook import handbook_periods, handbook_row, verified_words
from registry.selectors.lots.seed_tests import lot_figures, lot_tests
from registry.views.lots.handbook import period_words
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import RecordDetailView
from registry.views.shared.tables import Column, ledger_table

_RESERVE = "Each seed is taken to live or die on its own. A frost or a mouse takes many at once: keep a reserve beyond this number."


class LotToolsView(RecordDetailView):
    model = Lot
    action = "lot.view"
    template_name = "registry/lots/lot_tools.html"
    question = "How many seeds, how heavy, for how many trees?"

    def get_queryset(self):
        return super().get_queryset().filter(kind=LotKind.SEED).select_related("taxon")

    def get_title(self):
        return f"Reckon with {self.object.code}"

    def get_page(self):
        handbook = handbook_row(self.object.taxon.name)
        self.figures = lot_figures(self.object, lot_tests(self.object, handbook), handbook)
        tools = [self.trees_tool(), self.mass_tool(), self.bed_tool()]
        return {"tools": tools, "back_url": lot_url(self.object), "back_label": f"Lot {self.object.code}", "actions": []}

    def tool(self, key, form_class, answer, **words):
        """A tool with its form, and its answer when the form was sent and holds together."""
        sent = self.request.GET.get("tool") == key
        form = form_class(self.request.GET if sent else None, prefix=key, initial=self.initial())
        return {"id": key, "form": form, "answer": answer(form.answer()) if sent and form.is_valid() else None} | words

    def initial(self):
        figures = self.figures
        return {
            "per_kg": figures.per_kg and round(figures.per_kg, 2),
            "germination": figures.germination_share and round(100 * figures.germination_share, 1),
            "purity": 100 if figures.purity_share is None else round(100 * figures.purity_share, 1),
        }

    def trees_tool(self):
        note = f"Germination: {self.figures.germination_from or 'no test and no handbook figure; give your own'}."
        return self.tool(
            "trees", TreesForm, self.trees_answer, title="Seeds for trees", note=note, submit="How many seeds", warning=_RESERVE
        )

    def trees_answer(self, need):
        answer = [
            ("On average", amount_words(need.expected, "seeds"), None),
            (f"With {100 * need.confidence:g} % confidence", amount_words(need.sure, "seeds"), None),
            ("Share of seeds that become trees", f"{100 * need.share:.1f} %", None),
            (
                "In the lot",
                f"{amount_words(self.object.balance, 'seeds')}: {'enough' if self.object.balance >= need.sure else 'not enough'}",
                None,
            ),
        ]
        if self.figures.per_kg:
            grams = mass_of_seeds_g(need.sure, self.figures.per_kg)
            answer.append(("Their mass", f"{grams:,.0f} g, by {self.figures.per_kg_from}", None))
        return answer

    def mass_tool(self):
        note = f"Seeds per kg: {self.figures.per_kg_from or 'neither weighed nor in the handbook; give your own'}."
        return self.tool("mass", CountMassForm, self.mass_answer, title="Count and mass", note=note, submit="Turn one into the other")

    @staticmethod
    def mass_answer(pair):
        seeds, mass_g = pair
        return [("Seeds", f"{seeds:,}", None), ("Mass", f"{mass_g:,.1f} g", None)]

    def bed_tool(self):
        note = "Weight = area × density / (seeds per kg × purity × germination × survival): Williams & Hanks 1976, from memory."
        return self.tool("bed", BedForm, self.bed_answer, title="Seed for a bed", note=note, submit="How much seed")

    @staticmethod
    def bed_answer(kilograms):
        return [("To sow", f"{kilograms:,.3f} kg", None)]


class LotCalendarView(RecordDetailView):
    model = Lot
    action = "lot.view"
    template_name = "registry/lots/lot_calendar.html"
    question = "When does stratification start, when does seed go to the cold, when can it be sown?"

    def get_queryset(self):
        return super().get_queryset().filter(kind=LotKind.SEED).select_related("taxon")

    def get_title(self):
        return f"Stratification calendar of {self.object.code}"

    def get_page(self):
        row = handbook_row(self.object.taxon.name)
        periods = handbook_periods(row) if row else None
        page = {"handbook": row, "back_url": lot_url(self.object), "back_label": f"Lot {self.object.code}", "actions": []}
        if not periods:
            return page
        sent = bool(self.request.GET.get("start_on") or self.request.GET.get("sow_on"))
        form = CalendarForm(self.request.GET if sent else None)
        page |= {"form": form, "periods": periods_words(row), "verified": verified_words(row)}
        if sent and form.is_valid():
            try:
                page["calendar"] = calendar_part(_steps(form.cleaned_data, periods))
            except ValueError as error:
                form.add_error("start_on", str(error))
        return page


def _steps(data, periods):
    if data["start_on"]:
        return calendar_from_start(data["start_on"], *periods)
    return calendar_for_sowing(data["sow_on"], *periods)


def periods_words(row):
    """'warm 30 days at 20–30 °C, then cold 60 days at 5 °C'."""
    parts = [f"{name} {words}" for name in ("warm", "cold") if (words := period_words(row, name)) and words != "none needed"]
    return ", then ".join(parts) or "no stratification needed"


def calendar_part(steps, note=""):
    columns = (
        Column("Step", lambda step: step.what.capitalize()),
        Column("Earliest", "earliest", kind="date"),
        Column("Latest", "latest", kind="date"),
    )
    return ledger_table("Stratification calendar", columns, steps, unit="steps", note=note) | {"id": "calendar", "count": None}
