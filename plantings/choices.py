"""Code lists of the plantings. The codes of the census live in `calc/census/`, which needs no Django."""

from django.db.models import TextChoices
from django.utils.translation import gettext_lazy, pgettext_lazy

from plantings.calc.census.codes import CAUSES_BY_STATUS, STATUSES


class SiteStatus(TextChoices):
    ACTIVE = "active", gettext_lazy("active")
    CLOSED = "closed", pgettext_lazy("site", "closed")  # a site is masculine in French, a planting feminine


class LayerKind(TextChoices):
    JURISDICTIONS = "jurisdiction", "states, provinces or countries"
    AREAS = "area", "protected or other areas that rules name"


class PlantingState(TextChoices):
    PLANNED = "planned", gettext_lazy("planned")
    ESTABLISHED = "established", gettext_lazy("established")
    CLOSED = "closed", gettext_lazy("closed")


class Supply(TextChoices):
    SHIPMENT = "shipment", gettext_lazy("received in a shipment")
    OWN_STOCK = "own_stock", gettext_lazy("from the programme's own lot")
    BEFORE_RECORDS = "before_records", gettext_lazy("planted before these records began")


class EntryRole(TextChoices):
    TEST = "test", gettext_lazy("test")
    CHECK = "check", gettext_lazy("check")
    BUFFER = "buffer", gettext_lazy("buffer")
    FILLER = "filler", gettext_lazy("filler")


class WalkOrder(TextChoices):
    SERPENTINE = "serpentine", gettext_lazy("serpentine: odd rows up, even rows back")
    ROWS = "rows", gettext_lazy("every row from the same end")


class TreeFate(TextChoices):
    """The fate of a tree at its last round, as `calc/census/fate.py` derives it."""

    UNSEEN = "unseen", gettext_lazy("no census yet")
    ALIVE = "alive", gettext_lazy("alive")
    RESPROUT = "resprout", gettext_lazy("alive by resprout")
    DEAD = "dead", gettext_lazy("dead")
    PRESUMED_DEAD = "presumed_dead", gettext_lazy("presumed dead")
    NOT_FOUND = "not_found", gettext_lazy("not found")
    UNCLEAR = "unclear", gettext_lazy("seen but state unclear")
    NOT_LOCATED = "not_located", gettext_lazy("position not located")
    NOT_VISITED = "not_visited", gettext_lazy("not visited")
    REMOVED = "removed", gettext_lazy("removed")


class Arrival(TextChoices):
    """How a census record came in. Records from before reviews have none, and count as accepted."""

    RECEIVED = "received", gettext_lazy("received")
    ACCEPTED = "accepted", gettext_lazy("accepted when it was stored")


class ReviewState(TextChoices):
    ACCEPTED = "accepted", gettext_lazy("accepted")
    ASKED_BACK = "asked_back", gettext_lazy("asked back")
    REJECTED = "rejected", gettext_lazy("rejected")


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
    return [(code, gettext_lazy(label)) for code, label, _ in STATUSES]


def causes():
    """Causes of death and reasons of removal, in one list: one field holds either."""
    return [(code, gettext_lazy(label)) for codes in CAUSES_BY_STATUS.values() for code, label, _ in codes]


def layer_kinds():
    return LayerKind.choices
