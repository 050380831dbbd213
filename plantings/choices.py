"""Code lists of the plantings. Census codes live in `calc/census_rules.py`, which needs no Django."""

from django.db.models import TextChoices

from plantings.calc.census import rules as census_rules


class SiteStatus(TextChoices):
    ACTIVE = "active", "active"
    CLOSED = "closed", "closed"


class PlantingState(TextChoices):
    PLANNED = "planned", "planned"
    ESTABLISHED = "established", "established"
    CLOSED = "closed", "closed"


class Supply(TextChoices):
    SHIPMENT = "shipment", "received in a shipment"
    OWN_STOCK = "own_stock", "from the programme's own lot"
    BEFORE_RECORDS = "before_records", "planted before these books began"


class EntryRole(TextChoices):
    TEST = "test", "test"
    CHECK = "check", "check"
    BUFFER = "buffer", "buffer"
    FILLER = "filler", "filler"


class WalkOrder(TextChoices):
    SERPENTINE = "serpentine", "serpentine: odd rows up, even rows back"
    ROWS = "rows", "every row from the same end"


class TreeFate(TextChoices):
    """The fate of a tree at its last round, as `calc/fate.py` derives it."""

    UNSEEN = "unseen", "no census yet"
    ALIVE = "alive", "alive"
    RESPROUT = "resprout", "alive by resprout"
    DEAD = "dead", "dead"
    PRESUMED_DEAD = "presumed_dead", "presumed dead"
    NOT_FOUND = "not_found", "not found"
    NOT_LOCATED = "not_located", "position not located"
    NOT_VISITED = "not_visited", "not visited"
    REMOVED = "removed", "removed"


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
    return [(code, label) for code, label, _note in census_rules.STATUSES]


def causes():
    """Causes of death and reasons of removal, in one list: one field holds either."""
    return [(code, label) for code, label, *_ in (*census_rules.CAUSES_OF_DEATH, *census_rules.REMOVAL_REASONS)]


def browse_classes():
    return [(code, label) for code, label, *_ in census_rules.BROWSE_CLASSES]


def flowerings():
    return [(code, label) for code, label, *_ in census_rules.FLOWERING]
