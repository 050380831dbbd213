"""Reviews of census records: accepted, asked back, rejected. Observations stay as they came; each decision is a record of its own."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.choices import ReviewState
from plantings.models import Observation, Planting, Review
from plantings.selectors.census.reviews import last_reviews, plantings_waiting
from plantings.services.review_tallies import review_tallies_rebuild
from plantings.services.tallies import tallies_rebuild
from registry.calc.shared.screen import amount_words
from registry.choices import NO, ProgrammeKey
from registry.selectors.people.programme import setting
from registry.services.audit.trail import append_in_bulk, audit_record
from registry.services.audit.write import write

__all__ = ["REASON_LENGTH_MAX", "observations_review", "tallies_follow_reviews"]

REASON_LENGTH_MAX = 200
_IN_WORDS = {ReviewState.ASKED_BACK: "What should the crew look at again?", ReviewState.REJECTED: "Say why the record is rejected."}


@write
def observations_review(*, actor, observations, state, reason=""):
    """Decide about records of one planting that came in. Returns how many got a new review; those that have this state keep theirs.

    A record that a later one superseded is refused: the newer one is reviewed. Asking back and rejecting need a reason. A rejected
    record no longer counts, and its position is open again.
    """
    state, reason = ReviewState(state), reason.strip()
    if state in _IN_WORDS and not reason:
        raise ValidationError({"reason": _IN_WORDS[state]})
    keys = sorted({record.pk for record in observations})
    touched = set(Observation.objects.filter(pk__in=keys).values_list("round__planting", flat=True))
    if len(touched) != 1:
        raise ValidationError("Review the records of one planting at a time.")
    planting = Planting.objects.select_for_update().get(pk=touched.pop())
    if corrected := len(keys) - Observation.objects.unsuperseded().filter(pk__in=keys).count():
        words = f"{amount_words(corrected, 'records')} {'was' if corrected == 1 else 'were'} corrected in between."
        raise ValidationError(f"{words} Load the page again and review the newer record.")
    before = last_reviews(keys)
    todo = [pk for pk in keys if pk not in before or before[pk].state != state or before[pk].reason != reason]
    if not todo:
        return 0
    newest = Review.objects.order_by("-pk").values_list("pk", flat=True).first() or 0  # others of this planting wait for its lock
    stamp = timezone.now()
    append_in_bulk(
        Review,
        ["observation", "number", "supersedes", "state", "reason", "entered_by", "entered_at"],
        [(pk, *_after(before.get(pk)), state.value, reason, actor.pk, stamp) for pk in todo],
    )
    review_tallies_rebuild(set(Observation.objects.filter(pk__in=todo).values_list("round", flat=True)))
    rejected_or_not = {state, *(before[pk].state for pk in todo if pk in before)}
    if ReviewState.REJECTED in rejected_or_not or setting(ProgrammeKey.UNREAD_COUNT) == NO:
        tallies_rebuild(planting)
    changes = {"reviews": [None, len(todo)], "state": [None, str(state.label)]}
    new = Review.objects.filter(observation__round__planting=planting, pk__gt=newest).values_list("pk", flat=True)
    audit_record(actor=actor, verb="planting.census_reviewed", obj=planting, changes=changes, reason=reason, in_bulk=(Review, list(new)))
    return len(todo)


def _after(last):
    """Number of the review that follows another, and the one it supersedes."""
    return (last.number + 1, last.pk) if last else (1, None)


def tallies_follow_reviews():
    """Count again the plantings with unread records, once the programme changed whether those count. Part of the write of the setting."""
    for planting in plantings_waiting():
        tallies_rebuild(Planting.objects.select_for_update().get(pk=planting.pk))
