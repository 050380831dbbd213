"""The kinds of sheet of the registry, in the order a new book is loaded."""

from registry.imports.cautions import AgreementSignatureSheet, AgreementTextSheet, CautionSheet
from registry.imports.duties import DutyDoneSheet, DutySheet
from registry.imports.handbook import HandbookSheet, ProgrammeSettingSheet
from registry.imports.identity import IdentityEvidenceSheet, MeasuredShareSheet
from registry.imports.lots import LedgerSheet, LotComponentSheet, LotSheet
from registry.imports.material import PedigreeTreeSheet, PollenPoolMemberSheet, PollenPoolSheet, TaxonSheet
from registry.imports.movements import ReceiptSheet, ShipmentSheet
from registry.imports.orchard import RatingScaleSheet, RatingSheet, SelectionDecisionSheet, TreeStatusSheet
from registry.imports.partners import AuthorizationSheet, PartnerSheet, PersonSheet
from registry.imports.rules import MaterialClassSheet, RequirementSheet
from registry.imports.seed_tests import SeedTestSheet
from registry.imports.seedlots import HarvestSheet, LotSplitSheet, StorageSheet, TreatmentSheet

# A decision to rogue comes before the step that carries it out; what is known of a lot comes after its ledger.
REGISTRY_GROUPS = (
    ("Species and settings", (TaxonSheet, HandbookSheet, ProgrammeSettingSheet)),
    (
        "Orchard",
        (
            PollenPoolSheet,
            PedigreeTreeSheet,
            PollenPoolMemberSheet,
            RatingScaleSheet,
            RatingSheet,
            SelectionDecisionSheet,
            TreeStatusSheet,
        ),
    ),
    (
        "Lots",
        (
            LotSheet,
            LedgerSheet,
            LotSplitSheet,
            LotComponentSheet,
            HarvestSheet,
            SeedTestSheet,
            TreatmentSheet,
            StorageSheet,
            MeasuredShareSheet,
            IdentityEvidenceSheet,
        ),
    ),
    ("Partners and people", (PartnerSheet, PersonSheet)),
    (
        "Papers, rules and cautions",
        (
            CautionSheet,
            AgreementTextSheet,
            MaterialClassSheet,
            RequirementSheet,
            AuthorizationSheet,
            AgreementSignatureSheet,
            DutySheet,
            DutyDoneSheet,
        ),
    ),
    ("Shipments", (ShipmentSheet, ReceiptSheet)),
)
