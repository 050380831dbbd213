from registry.models.audit import AuditEntry
from registry.models.issued import IssuedPaper, ProgrammeSetting
from registry.models.lots import LedgerEntry, Lot, LotComponent
from registry.models.material import PedigreeTree, PollenPool, PollenPoolMember, Taxon
from registry.models.movements import Leftover, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.models.orchard import (
    IdentityEvidence,
    IdentityQuestion,
    MeasuredShare,
    Rating,
    RatingScale,
    SelectionDecision,
    TreeStatusRecord,
)
from registry.models.papers import Authorization
from registry.models.partners import Partner
from registry.models.people import Person
from registry.models.seedlots import Harvest, SeedTest, SeedTestReplicate, SpeciesHandbook, StorageRecord, Treatment
from registry.models.sheets import ColumnMapping, SheetUpload

__all__ = [
    "AuditEntry",
    "Authorization",
    "ColumnMapping",
    "Harvest",
    "IdentityEvidence",
    "IdentityQuestion",
    "IssuedPaper",
    "LedgerEntry",
    "Leftover",
    "Lot",
    "LotComponent",
    "MeasuredShare",
    "Partner",
    "PedigreeTree",
    "Person",
    "PollenPool",
    "PollenPoolMember",
    "ProgrammeSetting",
    "Rating",
    "RatingScale",
    "Receipt",
    "ReceiptLine",
    "SeedTest",
    "SeedTestReplicate",
    "SelectionDecision",
    "SheetUpload",
    "Shipment",
    "ShipmentLine",
    "SpeciesHandbook",
    "StorageRecord",
    "Taxon",
    "Treatment",
    "TreeStatusRecord",
]
