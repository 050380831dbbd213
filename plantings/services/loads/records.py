"""Census records, trees, plots and rounds that a load brought in, taken back when it is withdrawn."""

from collections import defaultdict
from dataclasses import fields

from django.utils import timezone

from plantings.choices import Arrival, ReviewState
from plantings.models import CensusRound, CountedPlot, Observation, Planting, PlotCount, Tree, WithdrawnRecord
from plantings.selectors.census.reviews import is_accepted
from plantings.services.census.observations import CensusRow, observations_record
from plantings.services.census.plot_counts import plot_count_correct
from plantings.services.census.reviews import records_review
from plantings.services.census.tallies import tallies_rebuild
from plantings.services.trees import planting_renumber
from registry.selectors.loads.resting import AT_ONCE
from registry.services.audit.trail import append_rows, audit_record
from registry.services.audit.write import write

__all__ = ["counts_take_back", "observations_take_back", "plantings_follow", "tags_return", "withdrawn_mark"]

_REVIEWED_AT_ONCE = 20_000  # each call counts its planting again
_OF_EARLIER = [item.name for item in fields(CensusRow) if item.name not in {"uuid", "supersedes_id", "reason", "arrived_as"}]
_COUNTED = ("alive", "dead", "observed_on", "observer", "note")
# {record type: (what `WithdrawnRecord` calls it, the columns that go blank, what names it)}
_MARKED = {
    Tree: ("tree", ("planting", "entry", "block", "replaces"), (Observation,)),
    CountedPlot: ("plot", ("planting", "entry"), (PlotCount,)),
    CensusRound: ("round", ("planting",), (Observation, PlotCount)),
}


def observations_take_back(actor, load, made, reason):
    """Reject what a load recorded; a record that it corrected gets its earlier values again, by a correction."""
    rows = [
        CensusRow(
            **{name: getattr(earlier, name) for name in _OF_EARLIER},
            supersedes_id=record.pk,
            reason=reason,
            arrived_as=_arrived_as(actor, earlier),
        )
        for record, earlier in _reject(actor, Observation, made[Observation], reason, "observations")
    ]
    if rows:
        observations_record(actor=actor, rows=rows, reason=reason)


def counts_take_back(actor, load, made, reason):
    """As for observations."""
    for count, earlier in _reject(actor, PlotCount, made[PlotCount], reason, "counts"):
        said = {name: getattr(earlier, name) for name in _COUNTED} | {"arrived_as": _arrived_as(actor, earlier)}
        plot_count_correct(actor=actor, count=count, reason=reason, **said)


def _arrived_as(actor, earlier):
    """A record that nobody had accepted waits for its review again."""
    return (Arrival.ACCEPTED if is_accepted(earlier) and actor.may("observation.review") else Arrival.RECEIVED).value


def _reject(actor, model, keys, reason, argument):
    """Reject the records that correct none from before the load, or one that was rejected. Returns the others, each with the one from
    before the load that it corrects. Those of a tree, plot or round that another load took back with it are rejected for good."""
    own, by_planting, corrected = set(keys), defaultdict(list), []
    for start in range(0, len(keys), AT_ONCE):
        records = model.objects.filter(pk__in=keys[start : start + AT_ONCE], superseded_by__isnull=True)
        records = records.exclude(pk__in=records.withdrawn().values("pk"))
        of_before = {record: _of_before(record, own) for record in records.select_related("round__planting", "supersedes")}
        earlier = model.objects.filter(pk__in=[key for key in of_before.values() if key]).with_review().in_bulk()
        for record, key in of_before.items():
            if key and earlier[key].review_state != ReviewState.REJECTED:
                corrected.append((record, earlier[key]))
            else:
                by_planting[record.round.planting_id].append(record)
    for records in by_planting.values():
        for start in range(0, len(records), _REVIEWED_AT_ONCE):
            given = {argument: records[start : start + _REVIEWED_AT_ONCE]}
            records_review(actor=actor, state=ReviewState.REJECTED, reason=reason, **given)
    return corrected


def _of_before(record, own):
    """The key of the record from before the load that this one corrects, also by others of the load; None where there is none."""
    while record.supersedes_id in own:
        record = record.supersedes
    return record.supersedes_id


@write
def withdrawn_mark(*, actor, load, records, reason):
    """Trees, plots or rounds that rejected census records name leave their planting, and a record of each says what it was. Returns their
    keys; nothing names the others."""
    model = type(records[0])
    name, columns, others = _MARKED[model]
    keys = [record.pk for record in records]
    named = {pk for other in others for pk in other._base_manager.filter(**{f"{name}__in": keys}).order_by().values_list(name, flat=True)}
    related = [path for path in ("planting", "entry__lot", "block") if path.partition("__")[0] in columns]
    rows = model._base_manager.filter(pk__in=named).select_related(*related).order_by("pk")
    stamp = timezone.now()
    append_rows([_withdrawal(load, name, row, reason, actor, stamp) for row in rows])
    model._base_manager.filter(pk__in=named).update(**dict.fromkeys(columns))
    return named


def _withdrawal(load, name, record, reason, actor, stamp):
    entry, block = getattr(record, "entry", None), getattr(record, "block", None)
    row = WithdrawnRecord(
        load=load, planting_number=record.planting_id, planting_code=record.planting.code, lot_code=entry.lot.code if entry else "",
        role=entry.role if entry else "", block_code=block.code if block else "", reason=reason, entered_by=actor, entered_at=stamp,
        **{name: record},
    )  # fmt: skip
    row.clean_fields(exclude=["load", "entered_by", name])  # those were just read: no query for each
    return row


def plantings_follow(actor, records):
    """The plantings of trees, plots or rounds that are gone: their walk order and tallies once more."""
    for key in sorted({record.planting_id for record in records}):
        planting = Planting.objects.select_for_update().filter(pk=key).first()
        if planting is not None:
            planting_renumber(planting)
            tallies_rebuild(planting)


@write
def tags_return(actor, records):
    """Trees whose new tags are gone carry the ones that those had replaced; the last change goes first, so no two trees share a tag."""
    trees = Tree.objects.in_bulk({record.tree_id for record in records})
    for record in sorted(records, key=lambda record: -record.pk):
        if tree := trees.get(record.tree_id):
            audit_record(actor=actor, verb="tree.retagged", obj=tree, changes={"tag": [tree.tag, record.tag]}, reason=record.reason)
            tree.tag = record.tag
            tree.save(update_fields=["tag"])
