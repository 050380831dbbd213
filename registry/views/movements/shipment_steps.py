"""What is done to a shipment: its form, its lots, its dispatch, cancelling it."""

from django.forms import Form

from registry.forms.movements.shipments import CancelForm, ShipmentForm, ShipmentLineForm, TakeBackForm
from registry.models import Shipment, ShipmentLine
from registry.selectors.gate.determinations import shipment_answer
from registry.selectors.movements.papers import shipment_papers
from registry.selectors.movements.shared_papers import draft_paper_duties
from registry.selectors.movements.shipments import shipment_duties, shipment_lines, shipment_words
from registry.services.movements.shipments import shipment_cancel, shipment_dispatch, shipment_line_remove, shipment_line_set
from registry.services.movements.taking_back import dispatch_take_back
from registry.views.gate.gate import GatedActionView
from registry.views.shared.forms import RecordActionView, RecordFormView

AUTHORITY_CAUTION = {
    "title": "Check with the local authority",
    "text": "Whether this shipment needs a permit or a certificate is not decided here.",
}
_BOX_RULE = (
    "Do not ship into a freeze or over a weekend: Monday to Wednesday, insulated box, cold pack not touching the seed (common practice)."
)


class ShipmentFormView(RecordFormView):
    model = Shipment
    action = "shipment.edit"
    form_class = ShipmentForm
    question = "Who gets it, when, and which papers go with it?"


class ShipmentLineAddView(RecordActionView):
    model = Shipment
    action = "shipment.edit"
    form_class = ShipmentLineForm
    title = "Add a lot to {object.code}"
    question = "Which lot goes in, and how much of it?"
    submit_label = "Add to the shipment"
    success_message = "Lot added to the draft. The lot's balance goes down when the shipment is dispatched."
    service = shipment_line_set


class ShipmentLineRemoveView(RecordActionView):
    model = ShipmentLine
    action = "shipment.edit"
    form_class = Form
    confirm = True
    title = "Remove {object.lot.code} from {object.shipment.code}"
    submit_label = "Remove the lot"
    success_message = "Lot removed from the draft."
    service = shipment_line_remove
    argument = "line"
    back_to = property(lambda page: page.object.shipment)


class ShipmentDispatchView(GatedActionView):
    model = Shipment
    action = "shipment.dispatch"
    service = shipment_dispatch
    day_label = "Left on"
    title = "Dispatch {object.code}"
    question = "Mark as shipped? The lot balances go down and the shipment is locked."
    success_message = "{object.code} dispatched. Its arrival is not confirmed until the receiver enters a receipt."

    def ask(self, day):
        return shipment_answer(self.object, day)

    @property
    def cautions(self):
        odd = [duty.text for duty in (*shipment_duties(self.object, shipment_lines(self.object), self.today), *self.get_shared())]
        cautions = [AUTHORITY_CAUTION | {"lines": [_BOX_RULE]}]
        return [*cautions, {"title": "Check this first", "lines": odd}] if odd else cautions

    def get_shared(self):
        """Papers that are not enough for this draft and others."""
        answer = self.get_answer()
        if not (answer and self.may("authorization.view")):
            return []
        return draft_paper_duties(self.object, shipment_papers(self.object, answer, self.today), answer, self.today)

    def get_page(self):
        balances = shipment_lines(self.object)
        words = shipment_words(balances)
        lots = ", ".join(f"{balance.line.quantity:,} of {balance.line.lot.code}" for balance in balances)
        return {
            "text": f"To {self.object.receiver.name}: {lots or 'no lots yet'}.",
            "submit_label": f"Dispatch {words}" if words else "Dispatch",
        }


class ShipmentTakeBackView(RecordActionView):
    model = Shipment
    action = "shipment.dispatch"
    form_class = TakeBackForm
    confirm = True
    title = "Take back the dispatch of {object.code}"
    submit_label = "Take the dispatch back"
    success_message = "Dispatch taken back. {object.code} is a draft again."
    service = dispatch_take_back

    @property
    def text(self):
        return (
            "For a dispatch entered by mistake. The lot balances go up again, and papers with a cap get back what was drawn on them. "
            "If the box left and came back, enter a receipt and the leftovers instead."
        )


class ShipmentCancelView(RecordActionView):
    model = Shipment
    action = "shipment.edit"
    form_class = CancelForm
    confirm = True
    title = "Cancel {object.code}"
    submit_label = "Cancel the shipment"
    success_message = "Shipment cancelled. Its record stays on file."
    service = shipment_cancel
