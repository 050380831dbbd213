from registry.models.audit import AuditEntry
from registry.models.lots import LedgerEntry, Lot, LotComponent
from registry.models.material import PedigreeTree, PollenPool, Taxon
from registry.models.movements import Leftover, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.models.papers import Authorization
from registry.models.partners import Partner
from registry.models.people import Person
from registry.models.sheets import ColumnMapping, SheetUpload

__all__ = [
    "AuditEntry",
    "Authorization",
    "ColumnMapping",
    "LedgerEntry",
    "Leftover",
    "Lot",
    "LotComponent",
    "Partner",
    "PedigreeTree",
    "Person",
    "PollenPool",
    "Receipt",
    "ReceiptLine",
    "SheetUpload",
    "Shipment",
    "ShipmentLine",
    "Taxon",
]
