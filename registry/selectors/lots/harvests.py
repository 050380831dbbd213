"""Harvests as the ledger has them."""

from registry.choices import LedgerKind
from registry.models import LedgerEntry

__all__ = ["harvests_without_facts"]


def harvests_without_facts():
    """Ledger entries of harvests, none of them reversed, whose picker and containers are not on file yet."""
    return LedgerEntry.objects.in_effect().filter(kind=LedgerKind.HARVESTED, harvest=None)
