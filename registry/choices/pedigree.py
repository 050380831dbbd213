"""Trees of the pedigree and taxa."""

from django.db.models import TextChoices


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


def taxon_roles():
    return TaxonRole.choices


def cross_types():
    return CrossType.choices


def tree_statuses():
    return TreeStatus.choices
