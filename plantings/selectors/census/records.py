"""Single records of the census: which of a tree or a plot say different things, which came in late, and who may correct one."""

import datetime
from functools import reduce
from operator import or_

from django.db.models import Count, Q, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.choices import ReviewState
from plantings.models import CensusRound, Observation, PlotCount
from registry.models import AuditEntry
from registry.models.shared.among import Keys

__all__ = [
    "ROUNDS",
    "late_rounds",
    "late_since",
    "may_correct",
    "own_records",
    "plots_counted_differently",
    "records_differ",
    "trees_recorded_differently",
]

LATE_SHOWN_DAYS = 60  # how long what came in late is listed: common practice, no source
CENSUS_RECORDED = "planting.census_recorded"
ROUNDS = "rounds"  # in the changes of an entry: the labels of the rounds that records were entered of

# What two records of one tree can contradict each other in. A blank says nothing, so it contradicts nothing.
# Of the programme's own measurements both records say all they have: the database cannot take single values apart on both vendors alike.
_SAID = ("status", "cause", *(item.field for item in MEASUREMENTS), "own_values")
_BLANK = {"status": "", "cause": "", **{item.field: "" for item in MEASUREMENTS if item.is_word}, "own_values": {}}


def trees_recorded_differently(rounds):
    """Rows {round, tree} where the unsuperseded records of one round say different things of a tree."""
    counts = {
        f"kinds_of_{name}": Count(name, distinct=True, filter=~Q(**{name: _BLANK[name]}) if name in _BLANK else None) for name in _SAID
    }
    differ = reduce(or_, (Q(**{f"{name}__gt": 1}) for name in counts))
    records = Observation.objects.current().filter(round__in=rounds).order_by().values("round", "tree")
    several = records.annotate(records=Count("pk")).filter(records__gt=1)
    return several.annotate(**counts).filter(differ).values("round", "tree")


def plots_counted_differently(rounds):
    """Rows {round, plot} where the unsuperseded counts of one round say different numbers of a plot."""
    counts = PlotCount.objects.current().filter(round__in=rounds).order_by().values("round", "plot")
    kinds = {f"kinds_of_{name}": Count(name, distinct=True) for name in ("alive", "dead")}
    return counts.annotate(**kinds).filter(Q(kinds_of_alive__gt=1) | Q(kinds_of_dead__gt=1)).values("round", "plot")


def records_differ(records):
    """The same of records that are read already."""
    said = ([getattr(record, name) for record in records if getattr(record, name) not in ("", None, {})] for name in _SAID)
    return any(value != values[0] for values in said for value in values[1:])


def late_since(on):
    """The moment since which records count as having come in of late, seen from a day."""
    return timezone.make_aware(datetime.datetime.combine(on - datetime.timedelta(days=LATE_SHOWN_DAYS), datetime.time()))


def late_rounds(plantings, on, closed_before):
    """Keys of rounds that closed before a day and got records since `late_since(on)`; of some plantings, or of all for None. At most two
    queries: the trail is read from its end, since records have no index by the time they came in."""
    older = AuditEntry.objects.filter(at__lt=late_since(on)).order_by("-pk").values("pk")[:1]
    entries = AuditEntry.objects.filter(pk__gt=Coalesce(older, Value(0)), verb=CENSUS_RECORDED, changes__has_key=ROUNDS).order_by()
    if plantings is not None:
        entries = entries.filter(record_id__in=plantings)
    named = {(planting, label) for planting, changes in entries.values_list("record_id", "changes") for label in changes[ROUNDS][1]}
    if not named:
        return set()
    rounds = CensusRound.objects.filter(closes_on__lt=closed_before, planting__among=Keys({planting for planting, _label in named}))
    return {pk for pk, *of_round in rounds.order_by().values_list("pk", "planting", "label") if tuple(of_round) in named}


def own_records(user, census_round, rows):
    """The trees of some rows that this person has recorded in the round before, other than by these rows. One query."""
    records = Observation.objects.current().filter(round=census_round, entered_by=user, tree__in=[row.tree_id for row in rows])
    return sorted(set(records.exclude(uuid__in=[row.uuid for row in rows]).order_by().values_list("tree", flat=True)))


def may_correct(user, record, on):
    """Whether a person may correct a record: the office any, whoever entered it their own while the round is open, and anybody of the
    crew one that was asked back (known of a record read `with_review`): the office asks the crew, and a correction is the answer."""
    if user.may("observation.correct"):
        return True
    is_open = record.round.opens_on <= on <= record.round.closes_on
    is_asked_back = getattr(record, "review_state", None) == ReviewState.ASKED_BACK
    return user.may("census.enter") and (is_asked_back or (record.entered_by_id == user.pk and is_open))
