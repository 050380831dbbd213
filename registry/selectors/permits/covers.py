"""What a paper covers: the lists of a version. Its page, form and sheet and the facts of the gate are built from this table."""

from registry.selectors.gate.code_lists import (
    ACTIVITY_CODES,
    ANY_CODES,
    CAP_ACTIVITY_CODES,
    CLASS_CODES,
    FORM_CODES,
    LOT_CODES,
    PLACE_CODES,
    PLACES_HELP,
    TAXA_ON_FILE,
)
from registry.selectors.gate.declared_fields import DeclaredField

__all__ = ["COVERED", "COVERS", "LIMITS", "SAYS"]

SAYS, COVERED = "What it says", "What it covers (a blank box sets no limit)"

COVERS = (
    DeclaredField("activities", "Activities", COVERED, "Covers activities", codes=ACTIVITY_CODES, example="dispatch; establish"),
    DeclaredField("classes", "Material classes", COVERED, "Covers material classes", codes=CLASS_CODES),
    DeclaredField("forms", "Forms of material", COVERED, "Covers forms", codes=FORM_CODES, example="seed; bareroot"),
    DeclaredField(
        "taxa", "Species or genera", COVERED, "Covers species or genera", "Binomials on file, or a genus for all of it.",
        codes=TAXA_ON_FILE, example="Juglans",
    ),
    DeclaredField("lots", "Lots", COVERED, "Covers lots", "Their codes.", codes=LOT_CODES),
    DeclaredField("origins", "From places", COVERED, "Covers from places", PLACES_HELP, codes=PLACE_CODES),
    DeclaredField("destinations", "To places", COVERED, "Covers to places", PLACES_HELP, codes=PLACE_CODES, example="US-VT"),
    DeclaredField("transits", "By way of", COVERED, "Covers by way of", PLACES_HELP, codes=PLACE_CODES),
    DeclaredField("sites", "Sites", COVERED, "Covers sites", "Codes of the sites it names.", codes=ANY_CODES),
    DeclaredField(
        "people", "People who act under it", COVERED, "Covers people", "Their names as the paper has them.", codes=ANY_CODES
    ),
    DeclaredField(
        "under", "Issued under the rules", COVERED, help="Codes of rules on file, when the paper names one.", codes=ANY_CODES
    ),
    DeclaredField("cap_activities", "What draws on the cap", SAYS, codes=CAP_ACTIVITY_CODES),
)  # fmt: skip
LIMITS = tuple(field.name for field in COVERS)
