"""The packing list of a shipment."""

from registry.calc.amounts import amount_words
from registry.models import Shipment
from registry.selectors.lineage import lot_lineages
from registry.selectors.movements import shipment_lines
from registry.views.generic import RecordDetailView
from registry.views.partners import address_words
from registry.views.tables import Column, ledger_table


class ShipmentPackingView(RecordDetailView):
    """What goes into the box and on it, in print."""

    model = Shipment
    action = "shipment.view"
    template_name = "registry/packing_list.html"
    question = "What is in this box? One copy goes inside, one outside."

    def get_queryset(self):
        return super().get_queryset().select_related("receiver")

    def get_title(self):
        return f"Packing list {self.object.code}"

    def get_history(self):
        return []

    def get_page(self):
        shipment, user = self.object, self.request.user
        balances = shipment_lines(shipment)
        lineages = lot_lineages([balance.line.lot for balance in balances])
        papers = [
            f"{paper.get_type_display()} {paper.issuer_reference or paper.code} ({paper.issuer})" for paper in shipment.authorizations.all()
        ]
        on = shipment.dispatched_on or shipment.planned_on
        address = address_words(shipment.receiver) if user.may("partner.contact") else ""
        facts = [
            ("To", ", ".join(part for part in (shipment.receiver.name, address) if part), None),
            ("From", ", ".join(part for part in (str(user), user.phone) if part), None),
            ("Left on" if shipment.dispatched_on else "Planned for", f"{on:%-d %b %Y}" if on else "", None),
            ("Carrier", shipment.carrier, None),
            ("Papers", "; ".join(papers), None),
        ]
        restricted = any(lineage.generation != "native" for lineage in lineages.values())
        return {
            "code": shipment.code,
            "state": shipment.get_state_display(),
            "facts": facts,
            "parts": [packing_table(balances, lineages)],
            "handling": {
                "title": shipment.handling or "No handling line",
                "text": "Test material, not for sale or gift." if restricted else "",
            },
        }


def packing_table(balances, lineages):
    columns = (
        Column("Lot", lambda balance: balance.line.lot.code, kind="code"),
        Column("What it is", lambda balance: balance.line.lot.taxon.name, kind="latin"),
        Column("Generation", lambda balance: lineages[balance.line.lot_id].generation),
        Column("Mother", lambda balance: lineages[balance.line.lot_id].mother),
        Column("Year", lambda balance: balance.line.lot.year, "right"),
        Column("Form", lambda balance: balance.line.get_form_display()),
        Column("Count", lambda balance: amount_words(balance.line.quantity, balance.line.lot.unit), "right"),
        Column("Use by", lambda balance: balance.line.lot.use_by, kind="date"),
    )
    return ledger_table("Contents", columns, balances, unit="lines", empty="No lot yet.")
