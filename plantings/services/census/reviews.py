"""Reviews of census records: accepted, asked back, rejected. Observations stay as they came; each decision is a record of its own."""

from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.choices import ReviewState
from plantings.models import CountReview, Planting, Review
from plantings.selectors.census.reviews import REVIEWED, last_reviews, plantings_waiting
from plantings.services.census.review_tallies import review_tallies_rebuild
from plantings.services.census.tallies import tallies_rebuild
from registry.calc.shared.screen import amount_words
from registry.choices import NO, ProgrammeKey
from registry.selectors.people.programme import setting
from registry.services.audit.trail import append_in_bulk, append_rows, audit_record
from registry.services.audit.write import write

__all__ = ["REASON_LENGTH_MAX", "records_review", "tallies_follow_reviews"]

REASON_LENGTH_MAX = 200
_IN_WORDS = {ReviewState.ASKED_BACK: "What should the crew look at again?", ReviewState.REJECTED: "Say why the record is rejected."}


@write
def records_review(*, actor, state, observations=(), counts=(), reason=""):
    """Decide about records of one planting that came in: observations and counts of plots. Returns how many got a new review; those that
    have this state keep theirs.

    A record that a later one superseded is refused: the newer one is reviewed. Asking back and rejecting need a reason. A rejected
    record no longer counts, and its position is open again.
    """
    state, reason = ReviewState(state), reason.strip()
    if state in _IN_WORDS and not reason:
        raise ValidationError({"reason": _IN_WORDS[state]})
    keys = {Review: sorted({record.pk for record in observations}), CountReview: sorted({record.pk for record in counts})}
    if any(_reviewed(model, found).withdrawn().exists() for model, found in keys.items()):
        words = "The load that brought this record was withdrawn with the tree, plot or round it is about."
        raise ValidationError(f"{words} Load the sheet again.")
    touched = {pk for model, found in keys.items() for pk in _reviewed(model, found).values_list("round__planting", flat=True)}
    if len(touched) != 1:
        raise ValidationError("Review the records of one planting at a time.")
    planting = Planting.objects.select_for_update().get(pk=touched.pop())
    if corrected := sum(len(found) - _reviewed(model, found).unsuperseded().count() for model, found in keys.items()):
        words = f"{amount_words(corrected, 'records')} {'was' if corrected == 1 else 'were'} corrected in between."
        raise ValidationError(f"{words} Load the page again and review the newer record.")
    rounds, before, decided = set(), [], 0
    for model, found in keys.items():
        last = last_reviews(model, found)
        todo = [pk for pk in found if pk not in last or last[pk].state != state or last[pk].reason != reason]
        if todo:
            rounds.update(_reviewed(model, todo).values_list("round", flat=True))
            before += [last[pk].state for pk in todo if pk in last]
            _STORE[model](actor, planting, state, reason, {pk: last.get(pk) for pk in todo})
            decided += len(todo)
    if decided:
        review_tallies_rebuild(rounds)
    if decided and (ReviewState.REJECTED in {state, *before} or setting(ProgrammeKey.UNREAD_COUNT) == NO):
        tallies_rebuild(planting)
    return decided


def _reviewed(model, keys):
    """The records of these keys that reviews of a model are about, none of them for no keys."""
    records = model._meta.get_field(REVIEWED[model]).related_model.objects
    return records.filter(pk__in=keys) if keys else records.none()


def _store_reviews(actor, planting, state, reason, last):
    newest = Review.objects.order_by("-pk").values_list("pk", flat=True).first() or 0  # others of this planting wait for its lock
    stamp = timezone.now()
    append_in_bulk(
        Review,
        ["observation", "number", "supersedes", "state", "reason", "entered_by", "entered_at"],
        [(pk, *_after(review), state.value, reason, actor.pk, stamp) for pk, review in last.items()],
    )
    changes = {"reviews": [None, len(last)], "state": [None, str(state.label)]}
    new = Review.objects.filter(observation__round__planting=planting, pk__gt=newest).values_list("pk", flat=True)
    audit_record(actor=actor, verb="planting.census_reviewed", obj=planting, changes=changes, reason=reason, in_bulk=(Review, list(new)))


def _store_count_reviews(actor, planting, state, reason, last):
    stamp, rows = timezone.now(), []
    for pk, review in last.items():
        number, supersedes = _after(review)
        rows.append(
            CountReview(
                count_id=pk, number=number, supersedes_id=supersedes, state=state, reason=reason, entered_by=actor, entered_at=stamp
            )
        )
    append_rows(rows)
    changes = {"reviews of plot counts": [None, len(rows)], "state": [None, str(state.label)]}
    audit_record(actor=actor, verb="planting.counts_reviewed", obj=planting, changes=changes, reason=reason)


_STORE = {Review: _store_reviews, CountReview: _store_count_reviews}


def _after(last):
    """Number of the review that follows another, and the one it supersedes."""
    return (last.number + 1, last.pk) if last else (1, None)


def tallies_follow_reviews():
    """Count again the plantings with unread records, once the programme changed whether those count. Part of the write of the setting."""
    for planting in plantings_waiting():
        tallies_rebuild(Planting.objects.select_for_update().get(pk=planting.pk))
