"""A harvest on screen: a new lot with its first picking, another picking of it."""

from django.views.generic import FormView

from registry.calc.shared.screen import amount_words
from registry.forms.lots.harvests import HarvestForm, PickingForm
from registry.models import PedigreeTree
from registry.services.lots.harvests import harvest_enter
from registry.views.lots.ledger import LotLedgerActionView, quantity_at
from registry.views.shared.forms import ServiceFormMixin

_CAUTION = {
    "title": "Before anyone climbs or saws",
    "lines": [
        "Never work alone in a tree or on a ladder. Wear a helmet and a harness, and have someone on the ground who can call for help.",
        "Put one lot in one container, with a label inside and one outside. Once seeds are mixed, their mother tree can no longer be told.",
    ],
    "decider": "the orchard manager on the day",
}


class HarvestAddView(ServiceFormMixin, FormView):
    action = "lot.edit"
    form_class = HarvestForm
    title = "Enter a harvest"
    question = "Which tree was picked, when, and how much seed did it give? This makes the lot and its first ledger entry."
    submit_label = "Make the lot and save the harvest"
    cautions = (_CAUTION,)
    person_box = "picker"
    service = harvest_enter
    back_to = "lot_list"
    leads_to = property(lambda page: page.result.entry.lot)

    @property
    def initial(self):
        mother = self.scoped(PedigreeTree).filter(code=self.request.GET.get("mother", "")).first()
        return {"mother": mother.pk} if mother else {}

    def perform(self, form):
        with quantity_at("count"):
            return super().perform(form)

    def arguments(self, form):
        return {"lot": form.instance} | self.values(form)

    @property
    def success_message(self):
        entry = self.result.entry
        return f"Harvest saved. Lot {entry.lot.code} holds {amount_words(entry.quantity, 'seeds')}."


class LotPickView(LotLedgerActionView):
    form_class = PickingForm
    service = harvest_enter
    title = "Another picking for {object.code}"
    question = "What was picked this time, from the same tree in the same year?"
    submit_label = "Save the picking"
    success_message = "Picking saved in the ledger."
    cautions = (_CAUTION,)
    person_box = "picker"
