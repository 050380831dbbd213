"""Makes what each open question of identity marks equal to the rule (`question_spread`), whatever is added or changed.

Every write calls `identity_spread_after` once, at its end (`registry.services.audit.write`); `recount` and `verify` prove the marks.
While no question is open it costs one EXISTS query.
"""

from registry.models import IdentityQuestion, Lot, LotComponent, PedigreeTree
from registry.selectors.identity.descent import chunks
from registry.selectors.identity.questions import OPEN, question_spread, question_stored

__all__ = ["identity_spread_after", "question_respread", "questions_open_respread"]

# record types that pass a mark on to their offspring
_CARRIERS = frozenset({PedigreeTree, Lot, LotComponent})
_ROWS_AT_ONCE = 2_000


def identity_spread_after(models):
    """Work out the open questions again when records of any of these types were added or changed."""
    if not _CARRIERS.isdisjoint(models) and IdentityQuestion.objects.filter(OPEN).exists():
        questions_open_respread()


def questions_open_respread():
    """Work out every open question; returns how many marks were added or taken away.

    The rows of the questions are locked first: of two people who write at once, the second sees what the first stored.
    """
    return sum(question_respread(question) for question in IdentityQuestion.objects.select_for_update().filter(OPEN).order_by("pk"))


def question_respread(question):
    """Store what one question marks; returns how many marks were added or taken away."""
    stored, fresh = question_stored(question), question_spread(question)
    return sum(
        _set_links(question, manager.through, field, marked, wanted)
        for manager, field, marked, wanted in (
            (question.trees, "pedigreetree", stored.trees, fresh.trees),
            (question.lots, "lot", stored.lots, fresh.lots),
        )
    )


def _set_links(question, through, field, stored, wanted):
    """Set the links of a question, without naming a hundred thousand keys in one query as `set()` would."""
    for chunk in chunks(stored - wanted):
        through.objects.filter(identityquestion=question, **{f"{field}__in": chunk}).delete()
    links = [through(identityquestion_id=question.pk, **{f"{field}_id": pk}) for pk in sorted(wanted - stored)]
    through.objects.bulk_create(links, batch_size=_ROWS_AT_ONCE)
    return len(stored ^ wanted)
