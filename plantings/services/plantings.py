"""Plain edits of plantings and rounds whose order other records stand on."""

from django.db import transaction

from plantings.models import Planting
from plantings.services.tallies import tallies_rebuild
from plantings.services.trees import planting_renumber
from registry.services.records import record_save

__all__ = ["planting_save", "round_save"]


@transaction.atomic
def planting_save(*, actor, planting, many=None, reason=""):
    """Store a planting; a new walk order numbers its trees again."""
    before = Planting.objects.filter(pk=planting.pk).values_list("walk", flat=True).first() if planting.pk else None
    planting = record_save(actor=actor, obj=planting, many=many, reason=reason)
    if before not in (None, planting.walk):
        planting_renumber(planting)
    return planting


@transaction.atomic
def round_save(*, actor, census_round, reason=""):
    """Store a round and rebuild the planting's tallies: a round put between two others changes what they say."""
    census_round = record_save(actor=actor, obj=census_round, reason=reason)
    tallies_rebuild(Planting.objects.select_for_update().get(pk=census_round.planting_id))
    return census_round
