"""Code lists of the registry. Retired codes stay here; a code never changes its meaning.

Models pass a function as `choices=`, so that a new code makes no migration.
"""

from django.db.models import TextChoices

from registry.access import roles


def role_choices():
    return list(roles.ROLES.items())


class TaxonRole(TextChoices):
    NATIVE = "native", "native recipient"
    DONOR = "donor", "donor of resistance"
    HYBRID = "hybrid", "hybrid"
    OTHER = "other", "other"


class CrossType(TextChoices):
    CONTROLLED = "controlled", "controlled"
    OPEN = "open", "open-pollinated"
    POLYMIX = "polymix", "polymix"
    SELF = "self", "self"
    UNKNOWN = "unknown", "unknown"


class TreeStatus(TextChoices):
    STANDING = "standing", "standing"
    ROGUED = "rogued", "rogued"
    DEAD = "dead", "dead"


class LotKind(TextChoices):
    SEED = "seed", "seed lot (counted in seeds)"
    STOCK = "stock", "stock lot (counted in plants)"


class LotOrigin(TextChoices):
    HARVEST = "harvest", "harvest of one mother tree"
    SOWN = "sown", "raised from another lot"
    BULK = "bulk", "bulk of component lots"
    OUTSIDE = "outside", "declared outside origin"


class LedgerKind(TextChoices):
    HARVESTED = "harvested", "harvested"
    ACQUIRED = "acquired", "received from outside"
    RAISED = "raised", "raised"
    BULKED_IN = "bulked_in", "bulked in"
    RECEIVED_BACK = "received_back", "received back"
    DISCARDED = "discarded", "discarded"
    SAMPLED = "sampled", "sampled for a test"
    BULKED_OUT = "bulked_out", "bulked out"
    SOWN = "sown", "sown"
    SHIPPED = "shipped", "shipped"
    PLANTED = "planted", "planted"
    DESTROYED = "destroyed", "destroyed"
    COUNTED = "counted", "stock-take difference"


LEDGER_GAINS = ("harvested", "acquired", "raised", "bulked_in", "received_back")
LEDGER_LOSSES = ("discarded", "sampled", "bulked_out", "sown", "shipped", "planted", "destroyed")
# Kinds a person may enter by hand; the others are written by the movement they belong to.
LEDGER_BY_HAND = ("harvested", "acquired", "raised", "discarded", "sampled", "sown", "destroyed", "counted")


class PartnerKind(TextChoices):
    LANDOWNER = "landowner", "landowner"
    NURSERY = "nursery", "nursery"
    AGENCY = "agency", "public agency"
    SCHOOL = "school", "school or university"
    TRUST = "trust", "land trust or association"
    OTHER = "other", "other"


class MapPrivacy(TextChoices):
    GENERAL = "general", "generalised on shared maps"
    HIDDEN = "hidden", "left off shared maps"


class ShipmentState(TextChoices):
    DRAFT = "draft", "draft"
    DISPATCHED = "dispatched", "dispatched"
    CANCELLED = "cancelled", "cancelled"


class MaterialForm(TextChoices):
    SEED = "seed", "seed"
    BAREROOT = "bareroot", "bareroot seedling"
    CONTAINER = "container", "container seedling"
    SCION = "scion", "scion wood"
    POLLEN = "pollen", "pollen"


class BoxCondition(TextChoices):
    GOOD = "good", "good"
    DAMAGED = "damaged", "damaged"
    WET = "wet", "wet or mouldy"
    FROZEN = "frozen", "frozen"
    WARM = "warm", "warm"


class LeftoverOutcome(TextChoices):
    RETURNED = "returned", "returned to the programme"
    DESTROYED = "destroyed", "destroyed"
    HELD = "held", "still held"


class AuthorizationType(TextChoices):
    PERMIT = "permit", "permit"
    CERTIFICATE = "certificate", "certificate"
    LICENCE = "licence", "licence"
    NOTIFICATION = "notification", "notification"
    CONSENT = "consent", "consent"
    AGREEMENT = "agreement", "agreement"
    NONE_NEEDED = "none_needed", "determination that none is needed"


class AuthorizationState(TextChoices):
    DRAFT = "draft", "draft"
    APPLIED = "applied", "applied"
    IN_FORCE = "in_force", "in force"
    SUSPENDED = "suspended", "suspended"
    EXPIRED = "expired", "expired, duties running"
    CLOSED = "closed", "closed"


def taxon_roles():
    return TaxonRole.choices


def cross_types():
    return CrossType.choices


def tree_statuses():
    return TreeStatus.choices


def lot_kinds():
    return LotKind.choices


def lot_origins():
    return LotOrigin.choices


def ledger_kinds():
    return LedgerKind.choices


def partner_kinds():
    return PartnerKind.choices


def map_privacies():
    return MapPrivacy.choices


def shipment_states():
    return ShipmentState.choices


def material_forms():
    return MaterialForm.choices


def box_conditions():
    return BoxCondition.choices


def leftover_outcomes():
    return LeftoverOutcome.choices


def authorization_types():
    return AuthorizationType.choices


def authorization_states():
    return AuthorizationState.choices
