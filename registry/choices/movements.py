"""Partners, shipments, receipts and leftovers."""

from django.db.models import TextChoices
from django.utils.translation import gettext_noop


class PartnerKind(TextChoices):
    LANDOWNER = "landowner", "landowner"
    NURSERY = "nursery", "nursery"
    AGENCY = "agency", "public agency"
    SCHOOL = "school", "school or university"
    TRUST = "trust", "land trust or association"
    OWN = "own", "the programme itself"
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
    GOOD = "good", gettext_noop("good")
    DAMAGED = "damaged", gettext_noop("damaged")
    WET = "wet", gettext_noop("wet or mouldy")
    FROZEN = "frozen", gettext_noop("frozen")
    WARM = "warm", gettext_noop("warm")


class LeftoverOutcome(TextChoices):
    RETURNED = "returned", "returned to the programme"
    DESTROYED = "destroyed", "destroyed"
    HELD = "held", "still held"


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
