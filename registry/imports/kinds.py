"""The kinds of sheet of the registry, in the order a new installation loads them."""

from registry.imports.duties.duties import DutyDoneSheet, DutySheet
from registry.imports.gate.rules import MaterialClassSheet, RequirementSheet, RuleVerificationSheet
from registry.imports.identity.evidence import IdentityEvidenceSheet, MeasuredShareSheet
from registry.imports.land.agreements import AgreementSignatureSheet, AgreementTextSheet
from registry.imports.lots.handbook import HandbookSheet
from registry.imports.lots.lot_steps import HarvestSheet, LotSplitSheet, StorageSheet, TreatmentSheet
from registry.imports.lots.lots import LedgerSheet, LotComponentSheet, LotSheet
from registry.imports.lots.seed_tests import SeedTestSheet
from registry.imports.movements.partners import PartnerSheet
from registry.imports.movements.shipments import ReceiptSheet, ShipmentSheet
from registry.imports.orchard.orchard import RatingScaleSheet, RatingSheet, SelectionDecisionSheet, TreeStatusSheet
from registry.imports.pedigree.trees import PedigreeTreeSheet, PollenPoolMemberSheet, PollenPoolSheet, TaxonSheet
from registry.imports.people.people import PersonSheet
from registry.imports.people.programme import ProgrammeSettingSheet
from registry.imports.permits.authorizations import AuthorizationSheet, AuthorizationStateSheet, AuthorizationVersionSheet
from registry.imports.safety.cautions import CautionSheet

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
            RuleVerificationSheet,
            AuthorizationSheet,
            AuthorizationVersionSheet,
            AuthorizationStateSheet,
            AgreementSignatureSheet,
            DutySheet,
            DutyDoneSheet,
        ),
    ),
    ("Shipments", (ShipmentSheet, ReceiptSheet)),
)
