"""Single records of the census: which of a tree or a plot say different things, and who may correct one."""

from functools import reduce
from operator import or_

from django.db.models import Count, Q

from plantings.calc.census.measurements import MEASUREMENTS
from plantings.choices import ReviewState
from plantings.models import Observation, PlotCount

__all__ = ["may_correct", "own_records", "plots_counted_differently", "records_differ", "trees_recorded_differently"]

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
