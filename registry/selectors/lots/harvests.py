"""Harvests as the ledger has them."""

from django.db.models import Exists, OuterRef, Sum

from registry.choices import LedgerKind
from registry.models import Harvest, LedgerEntry

__all__ = ["containers_picked", "harvests_without_facts"]


def harvests_without_facts():
    """Ledger entries of harvests, none of them reversed, whose picker and containers are not on file yet."""
    facts = Harvest.objects.filter(entry=OuterRef("pk"))
    return LedgerEntry.objects.in_effect().filter(~Exists(facts), kind=LedgerKind.HARVESTED)


def containers_picked(lot):
    """How many containers the pickings of a lot came in, those of reversed entries left out; 0 without any. One query."""
    entries = lot.ledger.in_effect().filter(kind=LedgerKind.HARVESTED)
    return Harvest.objects.filter(entry__in=entries).aggregate(n=Sum("containers"))["n"] or 0
