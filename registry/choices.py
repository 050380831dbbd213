"""Code lists of the registry. Retired codes stay here; a code never changes its meaning.

Models pass a function as `choices=`, so that a new code makes no migration.
"""

from django.db.models import TextChoices
from django.utils.translation import gettext_noop

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
    HOT_WATER = "hot_water", "hot water"
    SURFACE = "surface", "surface disinfection"
    WARM = "warm", "warm stratification"
    COLD = "cold", "cold stratification"
    PESTICIDE = "pesticide", "pesticide"
    OTHER = "other", "other treatment"


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


class RatingMethod(TextChoices):
    LARGE_STEM = "large_stem", "large-stem inoculation"
    SMALL_STEM = "small_stem", "small-stem inoculation"
    NATURAL = "natural", "natural infection"


class Decision(TextChoices):
    KEPT = "kept", "kept"
    ROGUED = "rogued", "to be rogued"
    HELD = "held", "held for another look"


class EvidenceKind(TextChoices):
    GENOTYPE = "genotype", "genotype of the parents or of progeny"
    PHENOTYPE = "phenotype", "look of leaf, bud or twig"
    LABEL = "label", "label or tag checked"
    RECORD = "record", "record checked against its paper"


class EvidenceOutcome(TextChoices):
    SUPPORTS = "supports", "supports the identity"
    CONTRADICTS = "contradicts", "contradicts the identity"
    OPEN = "open", "leaves it open"


class Settlement(TextChoices):
    CONFIRMED = "confirmed", "confirmed: the identity holds"
    CORRECTED = "corrected", "corrected: the record was changed"


class IssuedKind(TextChoices):
    LABELS = "labels", "container labels"
    TAGS = "tags", "planting tags"
    PACKING_LIST = "packing_list", "packing list"
    LOT_LIFE = "lot_life", "history of a lot"
    IDENTITY_DRAFT = "identity_draft", "draft for a certificate of identity"
    HEALTH_DRAFT = "health_draft", "draft for a phytosanitary certificate"
    LETTERS = "letters", "letters about an identity in question"
    PERMIT_FILE = "permit_file", "permit file"
    YEAR_REPORT = "year_report", "yearly report under a paper"


class ProgrammeKey(TextChoices):
    NAME = "name", "name of the programme, as printed"
    ADDRESS = "address", "postal address of the programme"
    MOTHERS_PER_LINE = "mothers_per_line", "fewest standing mothers of a recurrent line in an orchard"
    MOTHERS_PER_SOURCE = "mothers_per_source", "fewest standing mothers of a source of resistance in an orchard"
    STATUS_NUMBER = "status_number", "lowest status number of an orchard"
    CHROMOSOMES = "chromosomes", "chromosome pairs of the genus"
    CHROMOSOME_MORGANS = "chromosome_morgans", "map length of a chromosome (Morgan)"
    HOME_REGION = "home_region", "where material leaves from (ISO 3166-2)"
    RECEIPT_DAYS = "receipt_days", "days after which a shipment without a receipt is asked about"
    YOUNGEST_AGE = "youngest_age", "years of age under which a person does no dangerous task"
    LONE_WORK = "lone_work", "rule for work alone"


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


class AuthorizationType(TextChoices):
    PERMIT = "permit", "permit"
    CERTIFICATE = "certificate", "certificate"
    LICENCE = "licence", "licence"
    NOTIFICATION = "notification", "notification"
    CONSENT = "consent", "consent"
    AGREEMENT = "agreement", "agreement of another kind"
    LANDOWNER = "landowner", "landowner agreement"
    TRANSFER = "transfer", "germplasm or material transfer agreement"
    VOLUNTEER = "volunteer", "volunteer agreement"
    APPLICATOR = "applicator", "pesticide applicator's licence"
    INSURANCE = "insurance", "insurance"
    NONE_NEEDED = "none_needed", "determination that none is needed"


class AuthorizationState(TextChoices):
    DRAFT = "draft", gettext_noop("draft")
    APPLIED = "applied", gettext_noop("applied")
    IN_FORCE = "in_force", gettext_noop("in force")
    SUSPENDED = "suspended", gettext_noop("suspended")
    EXPIRED = "expired", gettext_noop("expired, duties running")
    CLOSED = "closed", gettext_noop("closed")


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


def seed_test_kinds():
    return SeedTestKind.choices


def treatment_kinds():
    return TreatmentKind.choices


def moisture_feels():
    return MoistureFeel.choices


def storage_classes():
    return StorageClass.choices


def rating_methods():
    return RatingMethod.choices


def decisions():
    return Decision.choices


def evidence_kinds():
    return EvidenceKind.choices


def evidence_outcomes():
    return EvidenceOutcome.choices


def settlements():
    return Settlement.choices


def programme_settings():
    return ProgrammeKey.choices


def issued_kinds():
    return IssuedKind.choices


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


class ClassRule(TextChoices):
    DONOR = "donor_ancestry", "any expected share of a donor species"
    ENGINEERED = "engineered", "descends from a regulated engineered tree"
    TAXON = "taxon", "its species or genus is in the list"
    FORM = "form", "its form is in the list"
    PATHOGEN = "pathogen", "live pathogen"
    DECLARED = "declared", "declared by hand for single lots"


class DutyKind(TextChoices):
    REPORT = "report", "report"
    FLOWERS = "flowers", "removal of flowers before pollen"
    VISIT = "visit", "monitoring visit"
    DESTROY = "destroy", "destruction by a day"
    RENEWAL = "renewal", "renewal"
    RULE_REVIEW = "rule_review", "review of a rule"
    OWNER = "owner", "contact with the owner"
    TRAINING = "training", "training"
    OTHER = "other", "other"


class Recurrence(TextChoices):
    ONCE = "once", "once"
    MONTHS = "months", "every so many months"
    YEARS = "years", "every so many years"
    YEARLY_ON = "yearly_on", "every year on one day"
    BEFORE_SEASON = "before_season", "every year, so many days before a day of the season"


class ClockUnit(TextChoices):
    HOURS = "hours", "hours"
    DAYS = "days", "days"
    WORKING_DAYS = "working_days", "working days"
    MONTHS = "months", "months"


class DrawKind(TextChoices):
    SHIPPED = "shipped", "shipped under it"
    PLANTED = "planted", "planted under it"
    RETURNED = "returned", "given back to the cap"
    OPENING = "opening", "used before these books began"


class SignedHow(TextChoices):
    PAPER = "paper", gettext_noop("on paper")
    LINK = "link", gettext_noop("on the private page")


class LandNoticeKind(TextChoices):
    SALE = "sale", gettext_noop("the land is being sold or handed on")
    WORKS = "works", gettext_noop("works planned near the trees")
    CONTACT = "contact", gettext_noop("new contact details")
    OTHER = "other", gettext_noop("something else")


class CautionTask(TextChoices):
    ANY = "any", "every task"
    CENSUS = "census", "census"
    PLANTING = "planting", "planting"
    INOCULATION = "inoculation", "inoculation and rating"
    PESTICIDE = "pesticide", "pesticide or herbicide"
    SAW = "saw", "saw and brush saw"
    POLLINATION = "pollination", "pollination and work at height"
    HARVEST = "harvest", "harvest and seed handling"
    DRIVING = "driving", "driving"


def class_rules():
    return ClassRule.choices


def duty_kinds():
    return DutyKind.choices


def recurrences():
    return Recurrence.choices


def clock_units():
    return ClockUnit.choices


def draw_kinds():
    return DrawKind.choices


def signed_hows():
    return SignedHow.choices


def land_notice_kinds():
    return LandNoticeKind.choices


def caution_tasks():
    return CautionTask.choices


def authorization_types():
    return AuthorizationType.choices


def authorization_states():
    return AuthorizationState.choices
