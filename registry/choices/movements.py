"""Partners, shipments, receipts and leftovers."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy


class PartnerKind(TextChoices):
    LANDOWNER = "landowner", gettext_lazy("landowner")
    NURSERY = "nursery", gettext_lazy("nursery")
    AGENCY = "agency", gettext_lazy("public agency")
    SCHOOL = "school", gettext_lazy("school or university")
    TRUST = "trust", gettext_lazy("land trust or association")
    OWN = "own", gettext_lazy("the programme itself")
    OTHER = "other", gettext_lazy("other")


class MapPrivacy(TextChoices):
    GENERAL = "general", gettext_lazy("generalised on shared maps")
    HIDDEN = "hidden", gettext_lazy("left off shared maps")


class ShipmentState(TextChoices):
    DRAFT = "draft", gettext_lazy("draft")
    DISPATCHED = "dispatched", gettext_lazy("dispatched")
    CANCELLED = "cancelled", gettext_lazy("cancelled")


class MaterialForm(TextChoices):
    SEED = "seed", gettext_lazy("seed")
    BAREROOT = "bareroot", gettext_lazy("bareroot seedling")
    CONTAINER = "container", gettext_lazy("container seedling")
    SCION = "scion", gettext_lazy("scion wood")
    POLLEN = "pollen", gettext_lazy("pollen")


SEED_FORMS = frozenset((MaterialForm.SEED, MaterialForm.POLLEN))  # the forms of what is counted in seeds


class BoxCondition(TextChoices):
    GOOD = "good", gettext_lazy("good")
    DAMAGED = "damaged", gettext_lazy("damaged")
    WET = "wet", gettext_lazy("wet or mouldy")
    FROZEN = "frozen", gettext_lazy("frozen")
    WARM = "warm", gettext_lazy("warm")


class LeftoverOutcome(TextChoices):
    RETURNED = "returned", gettext_lazy("returned to the programme")
    DESTROYED = "destroyed", gettext_lazy("destroyed")
    HELD = "held", gettext_lazy("still held")


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
