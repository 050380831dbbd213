"""The kinds of sheet of the registry, in the order a new book is loaded."""

from registry.imports.lots import LedgerSheet, LotComponentSheet, LotSheet
from registry.imports.material import PedigreeTreeSheet, PollenPoolSheet, TaxonSheet
from registry.imports.movements import ReceiptSheet, ShipmentSheet
from registry.imports.partners import AuthorizationSheet, PartnerSheet, PersonSheet

REGISTRY_SHEETS = (
    TaxonSheet,
    PollenPoolSheet,
    PedigreeTreeSheet,
    LotSheet,
    LedgerSheet,
    LotComponentSheet,
    PartnerSheet,
    PersonSheet,
    AuthorizationSheet,
    ShipmentSheet,
    ReceiptSheet,
)
