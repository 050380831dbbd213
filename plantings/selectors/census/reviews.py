"""Reads about reviews: what waits in which round, and what was decided about a record."""

from collections import Counter

from django.db.models import Count, IntegerField, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.utils.translation import gettext

from plantings.choices import Arrival, ReviewState
from plantings.models import CensusRound, CountReview, Observation, PageKeying, Planting, PlotCount, Review, ReviewTally

__all__ = [
    "REVIEWED",
    "gone_records",
    "is_accepted",
    "is_unread",
    "last_reviews",
    "plantings_waiting",
    "review_counts",
    "review_words",
    "rounds_waiting",
    "waiting_apart",
    "waiting_counts",
]

_KEYS_AT_ONCE = 900
REVIEWED = {Review: "observation", CountReview: "count"}  # the column of each review that names its record


def waiting_counts(rounds):
    """{round pk: (records nobody has read, records asked back)} counted from the records of trees and plots. Four queries."""
    counts = {pk: [0, 0] for pk in sorted(rounds)}
    for records in (Observation.objects, PlotCount.objects):
        for place, waiting in enumerate((records.unread(), records.asked_back())):
            for pk, number in waiting.filter(round__in=counts).order_by().values_list("round").annotate(n=Count("pk")):
                counts[pk][place] += number
    return {pk: tuple(found) for pk, found in counts.items()}


def waiting_apart(rounds):
    """{round pk: how many of its `waiting_counts` are of plots whose number planted is unknown}, rounds with none left out. Two queries."""
    found = Counter()
    for waiting in (PlotCount.objects.unread(), PlotCount.objects.asked_back()):
        rows = waiting.filter(round__in=rounds, plot__planted_count__isnull=True).order_by().values_list("round")
        found.update(dict(rows.annotate(n=Count("pk"))))
    return found


def last_reviews(model, keys):
    """{record pk: its last review} of observations or counts of plots, by the model of their reviews."""
    column = REVIEWED[model]
    found = {}
    for start in range(0, len(keys), _KEYS_AT_ONCE):
        reviews = model.objects.standing().filter(**{f"{column}__in": keys[start : start + _KEYS_AT_ONCE]})
        found |= {getattr(review, f"{column}_id"): review for review in reviews}
    return found


def gone_records(census_round):
    """[(uuid, reason)] of the records of a round that somebody rejected or corrected; the reason is that of a rejection, else "".

    Records of all people are among them: what a phone recorded may have come by a file, or by another link. Two queries.
    """
    found = []
    for records in (Observation.objects, PlotCount.objects):
        gone = records.filter(round=census_round).with_review()
        gone = gone.filter(Q(superseded_by__isnull=False) | Q(review_state=ReviewState.REJECTED)).order_by("pk")
        for uuid, state, reason, successor in gone.values_list("uuid", "review_state", "review_reason", "superseded_by"):
            found.append((uuid, reason if state == ReviewState.REJECTED and successor is None else ""))
    return found


def is_accepted(record):
    """Whether a record read `with_review` is accepted: by a review, or when it was stored."""
    return record.review_state == ReviewState.ACCEPTED or (record.review_state is None and record.arrived_as != Arrival.RECEIVED)


def review_words(record):
    """What was decided about a record read `with_review`."""
    if record.review_state:
        return ReviewState(record.review_state).label
    return gettext("received") if is_unread(record) else gettext("accepted")


def review_counts(census_round):
    """(unread, asked back) of a round read with its `review_tally`."""
    tally = getattr(census_round, "review_tally", None)
    return (tally.unread, tally.asked_back) if tally else (0, 0)


def is_unread(record):
    """Whether a record read `with_review` waits for somebody to read it."""
    return record.review_state is None and record.arrived_as == Arrival.RECEIVED


def plantings_waiting():
    """Plantings with records that nobody has accepted."""
    waiting = ReviewTally.objects.filter(Q(unread__gt=0) | Q(asked_back__gt=0))
    return Planting.objects.filter(pk__in=waiting.order_by().values("round__planting")).order_by("pk")


def rounds_waiting(user):
    """The rounds a person may see with records to be read, or asked back, or pages keyed twice that differ; each with its `review_tally`
    and the number of such pages as `to_settle`."""
    waiting = Q(review_tally__unread__gt=0) | Q(review_tally__asked_back__gt=0) | Q(to_settle__gt=0)
    keyings = PageKeying.objects.to_settle().filter(page__round=OuterRef("pk")).order_by().values("page__round")
    to_settle = Coalesce(Subquery(keyings.annotate(n=Count("pk")).values("n"), output_field=IntegerField()), 0)
    rounds = CensusRound.objects.for_user(user).annotate(to_settle=to_settle).filter(waiting)
    return rounds.select_related("planting__site", "review_tally").order_by("closes_on", "pk")
