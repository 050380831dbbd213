"""Reads about reviews: what waits in which round, and what was decided about a record."""

from django.db.models import Count, Q
from django.utils.translation import gettext

from plantings.choices import Arrival, ReviewState
from plantings.models import CensusRound, Observation, Planting, Review, ReviewTally

__all__ = [
    "is_accepted",
    "is_unread",
    "last_reviews",
    "plantings_waiting",
    "review_counts",
    "review_words",
    "rounds_waiting",
    "waiting_counts",
]

_KEYS_AT_ONCE = 900


def waiting_counts(rounds):
    """{round pk: (records nobody has read, records asked back)} counted from the records. Two queries."""
    counts = []
    for waiting in (Observation.objects.unread(), Observation.objects.asked_back()):
        counts.append(dict(waiting.filter(round__in=rounds).order_by().values_list("round").annotate(n=Count("pk"))))
    return {pk: tuple(found.get(pk, 0) for found in counts) for pk in sorted(rounds)}


def last_reviews(observations):
    """{observation pk: its last Review}."""
    found = {}
    for start in range(0, len(observations), _KEYS_AT_ONCE):
        reviews = Review.objects.standing().filter(observation__in=observations[start : start + _KEYS_AT_ONCE])
        found |= {review.observation_id: review for review in reviews}
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
    """The rounds a person may see with records to be read, or asked back; each with its `review_tally`."""
    waiting = Q(review_tally__unread__gt=0) | Q(review_tally__asked_back__gt=0)
    return CensusRound.objects.for_user(user).filter(waiting).select_related("planting__site", "review_tally").order_by("closes_on", "pk")
