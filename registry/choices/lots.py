"""Seed and stock lots: ledger, tests, treatments, storage."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy


class LotKind(TextChoices):
    SEED = "seed", "seed lot (counted in seeds)"
    STOCK = "stock", "stock lot (counted in plants)"


LOT_KIND_WORDS = {LotKind.SEED: gettext_lazy("seed lot"), LotKind.STOCK: gettext_lazy("stock lot")}


class LotOrigin(TextChoices):
    HARVEST = "harvest", "harvest of one mother tree"
    SOWN = "sown", "raised from another lot"
    BULK = "bulk", "bulk of component lots"
    OUTSIDE = "outside", "declared outside origin"
    SPLIT = "split", "part of another lot"


class LedgerKind(TextChoices):
    HARVESTED = "harvested", "harvested"
    ACQUIRED = "acquired", "received from outside"
    RAISED = "raised", "raised"
    BULKED_IN = "bulked_in", "bulked in"
    SPLIT_IN = "split_in", "split in"
    RECEIVED_BACK = "received_back", "received back"
    DISCARDED = "discarded", "discarded"
    SAMPLED = "sampled", "sampled for a test"
    BULKED_OUT = "bulked_out", "bulked out"
    SPLIT_OUT = "split_out", "split out"
    SOWN = "sown", "sown"
    SHIPPED = "shipped", "shipped"
    PLANTED = "planted", "planted"
    DESTROYED = "destroyed", "destroyed"
    COUNTED = "counted", "stock-take difference"


LEDGER_GAINS = ("harvested", "acquired", "raised", "bulked_in", "split_in", "received_back")
LEDGER_LOSSES = ("discarded", "sampled", "bulked_out", "split_out", "sown", "shipped", "planted", "destroyed")
# Kinds a person may enter by hand; the others are written by the movement they belong to.
LEDGER_BY_HAND = ("harvested", "acquired", "raised", "discarded", "sampled", "sown", "destroyed", "counted")


class SeedTestKind(TextChoices):
    FLOAT = "float", "float test"
    CUT = "cut", "cut test"
    MOISTURE = "moisture", "moisture, wet basis"
    PURITY = "purity", "purity"
    MASS = "mass", "seed mass"
    GERMINATION = "germination", "germination"


class TreatmentKind(TextChoices):
    HOT_WATER = "hot_water", gettext_lazy("hot water")
    SURFACE = "surface", gettext_lazy("surface disinfection")
    WARM = "warm", gettext_lazy("warm stratification")
    COLD = "cold", gettext_lazy("cold stratification")
    PESTICIDE = "pesticide", gettext_lazy("pesticide")
    OTHER = "other", gettext_lazy("other treatment")


class MoistureFeel(TextChoices):
    DRY = "dry", "dry"
    DAMP = "damp", "damp"
    WET = "wet", "wet"


class CullReason(TextChoices):
    SMALL = "small", "too small"
    DISEASED = "diseased", "diseased"
    DAMAGED = "damaged", "damaged"
    MISFORMED = "misformed", "misformed stem or root"
    OFF_TYPE = "off_type", "off type for its family"
    SURPLUS = "surplus", "sound but surplus"


class StorageClass(TextChoices):
    RECALCITRANT = "recalcitrant", "recalcitrant: dies when dried or frozen"
    INTERMEDIATE = "intermediate", "intermediate"
    ORTHODOX = "orthodox", "orthodox: keeps dry and cold"
    UNKNOWN = "unknown", "not stated"


def lot_kinds():
    return LotKind.choices


def lot_origins():
    return LotOrigin.choices


def ledger_kinds():
    return LedgerKind.choices


def seed_test_kinds():
    return SeedTestKind.choices


def treatment_kinds():
    return TreatmentKind.choices


def moisture_feels():
    return MoistureFeel.choices


def storage_classes():
    return StorageClass.choices
