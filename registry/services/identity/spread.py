"""Keeps what each open question of identity marks equal to the rule (`question_spread`), whatever is added or changed.

`audit_record` calls `identity_spread_after` for every record it enters. No write of a tree or a lot can go without its
audit entry, so none can go without this either; `recount` proves it. While no question is open it costs one EXISTS query.
A sheet of many rows is stored within `spread_once`, which works the questions out once, at its end.
"""

from contextlib import contextmanager
from contextvars import ContextVar

from registry.models import IdentityQuestion, Lot, LotComponent, PedigreeTree
from registry.selectors.identity.descent import chunks
from registry.selectors.identity.questions import OPEN, question_spread, question_stored

__all__ = ["identity_spread_after", "question_respread", "questions_open_respread", "spread_once"]

# records whose parents or origins carry a mark on
_CARRIERS = frozenset({PedigreeTree, Lot, LotComponent})
_ROWS_AT_ONCE = 2_000
_held = ContextVar("identity_spread_held", default=None)


def identity_spread_after(models):
    """Work the open questions out anew when records of any of these types were added or changed."""
    if _CARRIERS.isdisjoint(models):
        return
    held = _held.get()
    if held is not None:
        held.update(models)
    elif IdentityQuestion.objects.filter(OPEN).exists():
        questions_open_respread()


@contextmanager
def spread_once():
    """Many writes of one transaction: the questions are worked out once, when all of them are done."""
    if _held.get() is not None:
        yield
        return
    token = _held.set(set())
    try:
        yield
        models = _held.get()
    finally:
        _held.reset(token)
    identity_spread_after(models)


def questions_open_respread():
    """Work out every open question; returns how many marks were added or taken away.

    The rows of the questions are locked first: of two people who write at once, the second sees what the first has stored.
    """
    return sum(question_respread(question) for question in IdentityQuestion.objects.select_for_update().filter(OPEN).order_by("pk"))


def question_respread(question):
    """Store what one question marks; returns how many marks were added or taken away."""
    stored, fresh = question_stored(question), question_spread(question)
    return sum(
        _set_links(question, manager.through, field, kept, wanted)
        for manager, field, kept, wanted in (
            (question.trees, "pedigreetree", stored.trees, fresh.trees),
            (question.lots, "lot", stored.lots, fresh.lots),
        )
    )


def _set_links(question, through, field, stored, wanted):
    """Make the links of a question those wanted, without naming a hundred thousand keys in one query as `set()` would."""
    for chunk in chunks(stored - wanted):
        through.objects.filter(identityquestion=question, **{f"{field}__in": chunk}).delete()
    links = [through(identityquestion_id=question.pk, **{f"{field}_id": pk}) for pk in sorted(wanted - stored)]
    through.objects.bulk_create(links, batch_size=_ROWS_AT_ONCE)
    return len(stored ^ wanted)
