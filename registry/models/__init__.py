from registry.models.audit import AuditEntry, AuditHead
from registry.models.duties import CalendarFeed, Duty, DutyDone, Incident, IncidentNotice, ReminderSent, ReportingClock
from registry.models.files import Job, StoredAnswer, StoredFile
from registry.models.gate import Determination, MaterialClass, Requirement, RuleVerification
from registry.models.land import AgreementSignature, AgreementText, CautionSeen, CautionText, LandNotice, PrivateLink
from registry.models.lot_work import Harvest, SeedTest, SeedTestReplicate, SpeciesHandbook, StorageRecord, Treatment
from registry.models.lots import LedgerEntry, Lot, LotComponent
from registry.models.movements import Leftover, Receipt, ReceiptLine, Shipment, ShipmentLine
from registry.models.orchard import (
    DecisionAgreement,
    DecisionLink,
    IdentityEvidence,
    IdentityQuestion,
    MeasuredShare,
    Rating,
    RatingScale,
    SelectionDecision,
    TreeStatusRecord,
)
from registry.models.partners import Partner
from registry.models.pedigree import PedigreeTree, PollenPool, PollenPoolMember, Taxon
from registry.models.people import AccessToken, PasswordAsked, Person
from registry.models.permits import Authorization, AuthorizationDraw, AuthorizationStateRecord, AuthorizationVersion, PaperDocument
from registry.models.prints import IssuedPrint, ProgrammeSetting
from registry.models.sheets import ColumnMapping, Load, LoadWithdrawal, RowsSettled, SheetUpload, WithdrawnRow

__all__ = [
    "AccessToken",
    "AgreementSignature",
    "AgreementText",
    "AuditEntry",
    "AuditHead",
    "Authorization",
    "AuthorizationDraw",
    "AuthorizationStateRecord",
    "AuthorizationVersion",
    "CalendarFeed",
    "CautionSeen",
    "CautionText",
    "ColumnMapping",
    "DecisionAgreement",
    "DecisionLink",
    "Determination",
    "Duty",
    "DutyDone",
    "Harvest",
    "IdentityEvidence",
    "IdentityQuestion",
    "Incident",
    "IncidentNotice",
    "IssuedPrint",
    "Job",
    "LandNotice",
    "LedgerEntry",
    "Leftover",
    "Load",
    "LoadWithdrawal",
    "Lot",
    "LotComponent",
    "MaterialClass",
    "MeasuredShare",
    "PaperDocument",
    "Partner",
    "PasswordAsked",
    "PedigreeTree",
    "Person",
    "PollenPool",
    "PollenPoolMember",
    "PrivateLink",
    "ProgrammeSetting",
    "Rating",
    "RatingScale",
    "Receipt",
    "ReceiptLine",
    "ReminderSent",
    "ReportingClock",
    "Requirement",
    "RowsSettled",
    "RuleVerification",
    "SeedTest",
    "SeedTestReplicate",
    "SelectionDecision",
    "SheetUpload",
    "Shipment",
    "ShipmentLine",
    "SpeciesHandbook",
    "StorageRecord",
    "StoredAnswer",
    "StoredFile",
    "Taxon",
    "Treatment",
    "TreeStatusRecord",
    "WithdrawnRow",
]
