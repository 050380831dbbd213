"""How many records of a round wait to be read, or for an answer of the crew: stored in the write that changes it."""

from collections import Counter

from django.db.models import F

from plantings.choices import Arrival
from plantings.models import ReviewTally
from plantings.selectors.census.reviews import waiting_apart, waiting_counts

__all__ = ["review_tallies_follow", "review_tallies_rebuild"]


def review_tallies_follow(rows):
    """Take CensusRows into account that were just stored. The caller holds the locks of their plantings.

    New records are added to the count, which costs the same however many records the round has; where some correct others, it is counted.
    """
    received = Counter(row.round_id for row in rows if row.arrived_as == Arrival.RECEIVED)
    corrected = {row.round_id for row in rows if row.supersedes_id}
    review_tallies_rebuild(corrected)
    for pk in sorted(received.keys() - corrected):
        if not ReviewTally.objects.filter(round=pk).update(unread=F("unread") + received[pk]):
            ReviewTally.objects.create(round_id=pk, unread=received[pk], asked_back=0)


def review_tallies_rebuild(rounds):
    """Count these rounds again, by their keys. The caller holds the locks of their plantings."""
    if rounds:
        apart = waiting_apart(rounds)
        ReviewTally.objects.bulk_create(
            [
                ReviewTally(round_id=pk, unread=unread, asked_back=asked, in_no_figure=apart.get(pk, 0))
                for pk, (unread, asked) in waiting_counts(rounds).items()
            ],
            update_conflicts=True, unique_fields=["round"], update_fields=["unread", "asked_back", "in_no_figure"],
        )  # fmt: skip
