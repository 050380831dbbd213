"""How many records of a round wait to be read, or for an answer: counted again with every write that touches the round."""

from plantings.models import ReviewTally
from plantings.selectors.census.reviews import waiting_counts

__all__ = ["review_tallies_rebuild"]


def review_tallies_rebuild(rounds):
    """Store the counts of these rounds, by their keys. The caller holds the locks of their plantings."""
    if rounds:
        ReviewTally.objects.bulk_create(
            [ReviewTally(round_id=pk, unread=unread, asked_back=asked) for pk, (unread, asked) in waiting_counts(rounds).items()],
            update_conflicts=True, unique_fields=["round"], update_fields=["unread", "asked_back"],
        )  # fmt: skip
