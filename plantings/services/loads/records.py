"""Census records, trees and plots that a load brought in, taken back when it is withdrawn."""

from collections import defaultdict
from dataclasses import fields

from plantings.choices import Arrival, ReviewState
from plantings.models import Observation, Planting, PlotCount
from plantings.services.census import CensusRow, observations_record, plot_count_correct
from plantings.services.reviews import records_review
from plantings.services.tallies import tallies_rebuild
from plantings.services.trees import planting_renumber
from registry.selectors.loads.resting import AT_ONCE

__all__ = ["counts_take_back", "observations_take_back", "plantings_follow"]

_REVIEWED_AT_ONCE = 20_000  # each call counts its planting again
_OF_EARLIER = [item.name for item in fields(CensusRow) if item.name not in {"uuid", "supersedes_id", "reason", "arrived_as"}]
_COUNTED = ("alive", "dead", "observed_on", "observer", "note")


def observations_take_back(actor, keys, reason):
    """Reject what a load recorded; a record that it corrected gets its earlier values again, by a correction."""
    corrected = _reject(actor, Observation, keys, reason, "observations")
    arrived_as = (Arrival.ACCEPTED if actor.may("observation.review") else Arrival.RECEIVED).value
    rows = [
        CensusRow(
            **{name: getattr(record.supersedes, name) for name in _OF_EARLIER},
            supersedes_id=record.pk,
            reason=reason,
            arrived_as=arrived_as,
        )
        for record in corrected
    ]
    if rows:
        observations_record(actor=actor, rows=rows, reason=reason)


def counts_take_back(actor, keys, reason):
    """As for observations."""
    for count in _reject(actor, PlotCount, keys, reason, "counts"):
        plot_count_correct(actor=actor, count=count, reason=reason, **{name: getattr(count.supersedes, name) for name in _COUNTED})


def _reject(actor, model, keys, reason, argument):
    """Reject the records that correct none from before the load. Returns those that do."""
    own, by_planting, corrected = set(keys), defaultdict(list), []
    for start in range(0, len(keys), AT_ONCE):
        records = model._base_manager.filter(pk__in=keys[start : start + AT_ONCE], superseded_by__isnull=True)
        for record in records.select_related("round__planting", "supersedes"):
            if record.supersedes_id and record.supersedes_id not in own:
                corrected.append(record)
            else:
                by_planting[record.round.planting_id].append(record)
    for records in by_planting.values():
        for start in range(0, len(records), _REVIEWED_AT_ONCE):
            given = {argument: records[start : start + _REVIEWED_AT_ONCE]}
            records_review(actor=actor, state=ReviewState.REJECTED, reason=reason, **given)
    return corrected


def plantings_follow(actor, records):
    """The plantings of trees or plots that are gone: their walk order and tallies once more."""
    for key in sorted({record.planting_id for record in records}):
        planting = Planting.objects.select_for_update().filter(pk=key).first()
        if planting is not None:
            planting_renumber(planting)
            tallies_rebuild(planting)
