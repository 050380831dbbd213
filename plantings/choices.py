"""Code lists of the plantings. The codes of the census live in `calc/census/`, which needs no Django."""

from django.db.models import TextChoices
from django.utils.translation import gettext_noop

from plantings.calc.census.codes import CAUSES_BY_STATUS, STATUSES


class SiteStatus(TextChoices):
    ACTIVE = "active", "active"
    CLOSED = "closed", "closed"


class LayerKind(TextChoices):
    JURISDICTIONS = "jurisdiction", "states, provinces or countries"
    AREAS = "area", "protected or other areas that rules name"


class PlantingState(TextChoices):
    PLANNED = "planned", gettext_noop("planned")
    ESTABLISHED = "established", gettext_noop("established")
    CLOSED = "closed", gettext_noop("closed")


class Supply(TextChoices):
    SHIPMENT = "shipment", "received in a shipment"
    OWN_STOCK = "own_stock", "from the programme's own lot"
    BEFORE_RECORDS = "before_records", "planted before these records began"


class EntryRole(TextChoices):
    TEST = "test", gettext_noop("test")
    CHECK = "check", gettext_noop("check")
    BUFFER = "buffer", gettext_noop("buffer")
    FILLER = "filler", gettext_noop("filler")


class WalkOrder(TextChoices):
    SERPENTINE = "serpentine", gettext_noop("serpentine: odd rows up, even rows back")
    ROWS = "rows", gettext_noop("every row from the same end")


class TreeFate(TextChoices):
    """The fate of a tree at its last round, as `calc/census/fate.py` derives it."""

    UNSEEN = "unseen", "no census yet"
    ALIVE = "alive", "alive"
    RESPROUT = "resprout", "alive by resprout"
    DEAD = "dead", "dead"
    PRESUMED_DEAD = "presumed_dead", "presumed dead"
    NOT_FOUND = "not_found", "not found"
    UNCLEAR = "unclear", "seen but state unclear"
    NOT_LOCATED = "not_located", "position not located"
    NOT_VISITED = "not_visited", "not visited"
    REMOVED = "removed", "removed"


class Arrival(TextChoices):
    """How a census record came in. Records from before reviews have none, and count as accepted."""

    RECEIVED = "received", gettext_noop("received")
    ACCEPTED = "accepted", gettext_noop("accepted when it was stored")


class ReviewState(TextChoices):
    ACCEPTED = "accepted", gettext_noop("accepted")
    ASKED_BACK = "asked_back", gettext_noop("asked back")
    REJECTED = "rejected", gettext_noop("rejected")


def arrivals():
    return Arrival.choices


def review_states():
    return ReviewState.choices


def site_statuses():
    return SiteStatus.choices


def planting_states():
    return PlantingState.choices


def supplies():
    return Supply.choices


def entry_roles():
    return EntryRole.choices


def walk_orders():
    return WalkOrder.choices


def tree_fates():
    return TreeFate.choices


def census_statuses():
    return [(code, label) for code, label, _ in STATUSES]


def causes():
    """Causes of death and reasons of removal, in one list: one field holds either."""
    return [(code, label) for codes in CAUSES_BY_STATUS.values() for code, label, _ in codes]


def layer_kinds():
    return LayerKind.choices
