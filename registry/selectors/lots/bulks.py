"""What has left a bulk: from then on its components are fixed, because what left has that mixture."""

from django.db.models import Sum

from registry.calc.shared.screen import amount_words
from registry.choices import LEDGER_LOSSES, LedgerKind

__all__ = ["bulk_left"]


def bulk_left(bulk):
    """What has left a bulk lot and was neither reversed nor put back, in words such as "40 seeds sown"; "" when nothing has.

    What was discarded or used up in a test counts too: the shares of the components follow their counts, and a test describes the
    mixture of its day.
    """
    kinds = [*LEDGER_LOSSES, LedgerKind.SPLIT_IN]
    # by the other lot, so that what came back from one part does not hide what is still in another
    rows = bulk.ledger.filter(kind__in=kinds).order_by().values_list("kind", "counterpart").annotate(total=Sum("quantity"))
    left = {}
    for kind, other, total in rows:
        kind = LedgerKind.SPLIT_OUT if kind == LedgerKind.SPLIT_IN else LedgerKind(kind)
        left[kind, other] = left.get((kind, other), 0) + total
    by_kind = {}
    for (kind, _other), total in left.items():
        if total < 0:
            by_kind[kind] = by_kind.get(kind, 0) - total
    return ", ".join(f"{amount_words(count, bulk.unit)} {kind.label}" for kind, count in by_kind.items())
