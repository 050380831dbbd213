"""The prints of a shipment: packing list, draft for a phytosanitary certificate."""

from django.utils.translation import gettext_lazy as _

from registry.choices import IssuedKind
from registry.models import Shipment
from registry.selectors.movements.papers import shipment_papers, shipment_said
from registry.selectors.movements.prints import health_document, packing_document
from registry.views.movements.partners import address_words
from registry.views.prints.print_view import PrintView


class ShipmentPrintView(PrintView):
    model = Shipment

    def get_links(self):
        shipment = self.object
        lots = {line.lot for line in shipment.lines.select_related("lot")}
        papers = shipment_papers(shipment, shipment_said(shipment, self.today), self.today)
        return {"shipments": [shipment], "lots": lots, "authorizations": [one.paper for one in papers]}

    def document_values(self):
        receiver_address = address_words(self.object.receiver) if self.may("partner.contact") else ""
        return super().document_values() | {"sender": self.get_sender(), "receiver_address": receiver_address}


class ShipmentPackingView(ShipmentPrintView):
    """The list that goes into the box, and on it."""

    action = "shipment.view"
    kind = IssuedKind.PACKING_LIST
    drawn_by = packing_document
    question = _("What is in this box? One copy goes inside, one outside.")


class ShipmentHealthDraftView(ShipmentPrintView):
    action = "print.make"
    kind = IssuedKind.HEALTH_DRAFT
    drawn_by = health_document
    question = "What do our records say for an application for a phytosanitary certificate?"
