"""A harvest on screen: a new lot with its first picking, another picking of it."""

from django.urls import reverse
from django.views.generic import FormView

from registry.calc.shared.screen import amount_words
from registry.forms.lots.harvests import HarvestForm, PickingForm
from registry.models import Lot, PedigreeTree
from registry.services.lots.harvests import harvest_enter
from registry.views.lots.ledger import quantity_at
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import RecordActionView, ServiceFormMixin

_CAUTION = {
    "title": "Before anybody climbs or saws",
    "lines": [
        "Never work alone in a tree or on a ladder. Helmet, harness, and somebody on the ground who can call for help.",
        "One lot in one container, a label inside and one outside. Nuts mixed on a table have no mother any more.",
    ],
    "decider": "the orchard manager on the day",
}


class HarvestAddView(ServiceFormMixin, FormView):
    action = "lot.edit"
    form_class = HarvestForm
    title = "Enter a harvest"
    question = "Which tree was picked, when, and how much came of it? The lot and its first ledger entry are made in one step."
    submit_label = "Make the lot and enter the harvest"

    def get_initial(self):
        mother = self.scoped(PedigreeTree).filter(code=self.request.GET.get("mother", "")).first()
        initial = {"picker": str(self.request.user)}
        return initial | {"mother": mother.pk} if mother else initial

    def get_cautions(self):
        return [_CAUTION]

    def perform(self, form):
        with quantity_at("count"):
            return harvest_enter(actor=self.request.user, lot=form.instance, **form.picking())

    def get_success_message(self):
        entry = self.result.entry
        return f"Lot {entry.lot.code} holds {amount_words(entry.quantity, 'seeds')}."

    def get_cancel_url(self):
        return reverse("lot_list")

    def get_success_url(self):
        return lot_url(self.result.entry.lot)


class LotPickView(RecordActionView):
    model = Lot
    action = "ledger.enter"
    form_class = PickingForm
    question = "What was picked this time, of the same tree and year?"
    submit_label = "Enter the picking"
    success_message = "Entered in the ledger."

    def get_title(self):
        return f"Another picking for {self.object.code}"

    def get_initial(self):
        return {"picker": str(self.request.user)}

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"lot": self.object}

    def get_cautions(self):
        return [_CAUTION]

    def perform(self, form):
        with quantity_at("count"):
            return harvest_enter(actor=self.request.user, lot=self.object, **form.picking())
