"""Codes the gate knows, each with its words."""

from collections.abc import Collection

from registry.calc.shared.screen import list_words, unit_words

DISPATCH, ESTABLISH, RECEIVE = "dispatch", "establish", "receive"
CENSUS_VISIT = "census_visit"
INOCULATE = "inoculate"
PESTICIDE = "pesticide"
COLLECT, PUBLISH, DESTROY, FLOWERS = "collect", "publish_location", "destroy", "flower_removal"
ACTIVITIES = {
    DISPATCH: "dispatch of a shipment",
    ESTABLISH: "establishing a planting",
    "hold": "holding the material",
    COLLECT: "collecting seed, scions or pollen",
    INOCULATE: "inoculation with a live pathogen",
    PESTICIDE: "applying a pesticide",
    CENSUS_VISIT: "a census visit on private land",
    PUBLISH: "publishing a location",
    RECEIVE: "recording a receipt",
    "census_record": "recording a census",
    FLOWERS: "removing flowers",
    DESTROY: "destruction",
    "incident_report": "reporting an incident",
}
# Expiry ends permission, not duties: these are recorded whatever the papers say.
NEVER_BLOCKED = frozenset((RECEIVE, "census_record", FLOWERS, DESTROY, "incident_report"))
# A line whose identity is doubted cannot be matched with a paper, so these wait until it is settled.
MOVES_MATERIAL = frozenset((DISPATCH, ESTABLISH, COLLECT, INOCULATE))

# Done on land, which may be somebody's; a planting and a shipment say themselves whose land it is.
ON_LAND = frozenset((CENSUS_VISIT, INOCULATE, PESTICIDE, COLLECT, PUBLISH, DESTROY, FLOWERS))

# An agreement about land is made for planting, visiting and measuring; whether it is for these too it must say.
BEYOND_PLANTING = frozenset((INOCULATE, PESTICIDE, COLLECT, PUBLISH, DESTROY, FLOWERS))

NONE_NEEDED = "none_needed"
LANDOWNER_TYPES = ("landowner", "agreement", "consent")
TYPES = {
    "permit": "permit",
    "certificate": "certificate",
    "licence": "licence",
    "notification": "notification",
    "consent": "consent",
    "landowner": "landowner agreement",
    "transfer": "germplasm or material transfer agreement",
    "volunteer": "volunteer agreement",
    "applicator": "pesticide applicator's licence",
    "insurance": "insurance",
    "agreement": "agreement of another kind",
    NONE_NEEDED: "determination that none is needed",
}
IN_FORCE = "in_force"
STATE_LABELS = {
    "draft": "draft",
    "applied": "applied",
    IN_FORCE: "in force",
    "suspended": "suspended",
    "expired": "expired, duties running",
    "closed": "closed",
}
STATES = STATE_LABELS | {"draft": "a draft", "applied": "applied for"}  # in a sentence: "the paper is a draft"
ALWAYS = "Check with the local authority. Nothing recorded here is a permission."
CHECK_LAST = "Then check with the local authority."


def lots_words(lots: Collection[str]) -> str:
    """Lots as one names them in a sentence.

    Source
    ------
    Definition of this programme.

    Examples
    --------
    >>> lots_words(["P21"]), lots_words(["P21", "S21"])
    ('lot P21', 'lots P21 and S21')
    """
    return f"{unit_words(len(lots), 'lots')} {list_words(lots, 'and')}"
