"""Counted plots of a planting, and what was left over of a shipment."""

from plantings.forms.plantings import CountedPlotForm, LeftoverForm
from plantings.models import CountedPlot, Planting
from plantings.services.supply import leftover_enter, line_unplanted
from plantings.services.trees import counted_plot_add
from plantings.views.plantings.plantings import known, planting_url
from registry.calc.shared.screen import amount_words
from registry.models import ShipmentLine
from registry.views.gate.gate import GateStopMixin
from registry.views.shared.addresses import reverse_to
from registry.views.shared.forms import RecordActionView, RecordFormView


class CountedPlotAddView(GateStopMixin, RecordFormView):
    template_name = "registry/gate/gate_form.html"
    model = CountedPlot
    action = "tree.edit"
    form_class = CountedPlotForm
    question = "How many seeds or plants of which lot were planted in this plot?"
    submit_label = "Save the plot"

    def get_initial(self):
        return super().get_initial() | known(self, Planting, "planting")

    def act(self, form, override_reason):
        names = ("planting", "code", "lot", "planted_count", "role", "on")
        values = {name: form.cleaned_data[name] for name in names}
        return counted_plot_add(actor=self.request.user, override_reason=override_reason, **values)

    def get_cancel_url(self):
        return reverse_to("planting_list")

    def get_success_message(self):
        return f"Plot {self.result.code} saved, {self.result.planted_count:,} planted."

    def get_success_url(self):
        return planting_url(self.result.planting)


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

    def get_cautions(self):
        room = line_unplanted(self.object)
        if not room:
            return [
                {"title": "Nothing is left to report", "text": "All that was received in good order is planted or reported as left over."}
            ]
        text = f"Received in good order, but neither planted nor reported as left over: {amount_words(room, self.object.lot.unit)}."
        return [{"title": "Say what became of each: returned, destroyed or still held", "text": text}]

    def get_cancel_url(self):
        return reverse_to("shipment_detail", self.object.shipment_id)

    get_success_url = get_cancel_url
