"""Counted plots of a planting, and what was left over of a shipment."""

from plantings.forms.plantings import CountedPlotForm, LeftoverForm
from plantings.models import CountedPlot, Planting
from plantings.selectors.plantings.unknown_plots import plot_planted_words
from plantings.services.supply import leftover_enter, line_unplanted
from plantings.services.trees import counted_plot_add
from plantings.views.plantings.plantings import known
from registry.calc.shared.screen import amount_words
from registry.models import ShipmentLine
from registry.views.gate.gate import GateStopMixin
from registry.views.shared.forms import RecordActionView, RecordFormView


class CountedPlotAddView(GateStopMixin, RecordFormView):
    model = CountedPlot
    action = "tree.edit"
    form_class = CountedPlotForm
    service = counted_plot_add
    argument = ""
    question = "How many seeds or plants of which lot were planted in this plot?"
    submit_label = "Save the plot"
    initial = property(lambda page: known(page, Planting, "planting"))
    back_to = "planting_list"
    success_message = property(lambda page: f"Plot {page.result.code} saved. Number planted: {plot_planted_words(page.result)}.")
    leads_to = property(lambda page: page.result.planting)

    def values(self, form):
        return {name: form.cleaned_data[name] for name in ("planting", "code", "lot", "planted_count", "role", "on")}


class LeftoverAddView(RecordActionView):
    model = ShipmentLine
    action = "leftover.enter"
    form_class = LeftoverForm
    title = "Leftover of {object.lot} in shipment {object.shipment}"
    question = "What was received and not planted, and what became of it?"
    submit_label = "Save the leftover"
    success_message = "Leftover saved: {result}."
    service = leftover_enter
    argument = "line"
    back_to = property(lambda page: page.object.shipment)

    @property
    def cautions(self):
        room = line_unplanted(self.object)
        if not room:
            return [
                {"title": "Nothing is left to report", "text": "All that was received in good order is planted or reported as left over."}
            ]
        text = f"Received in good order, but neither planted nor reported as left over: {amount_words(room, self.object.lot.unit)}."
        return [{"title": "Say what became of each: returned, destroyed or still held", "text": text}]
