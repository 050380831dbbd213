"""Harvests as the ledger has them."""

from django.db.models import Sum

from registry.choices import LedgerKind
from registry.models import LedgerEntry

__all__ = ["containers_picked", "harvests_without_facts"]


def harvests_without_facts():
    """Ledger entries of harvests, none of them reversed, whose picker and containers are not on file yet."""
    return LedgerEntry.objects.in_effect().filter(kind=LedgerKind.HARVESTED, harvest=None)


def containers_picked(lot):
    """How many containers the pickings of a lot came in, those of reversed entries left out; 0 without any. One query."""
    entries = lot.ledger.in_effect().filter(kind=LedgerKind.HARVESTED)
    return entries.aggregate(n=Sum("harvest__containers"))["n"] or 0
