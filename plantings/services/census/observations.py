"""Writes observations of trees. A record that was received is never lost, changed or doubled; a correction is a new record."""

from collections import defaultdict
from dataclasses import dataclass, field, fields, replace
from operator import attrgetter
from os import urandom
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from plantings.calc.census.codes import CAUSES_BY_STATUS, DEAD, NOT_VISITED, UNKNOWN_CAUSE
from plantings.calc.census.measurements import ERROR
from plantings.calc.census.rows import SeenRow
from plantings.calc.results import Finding
from plantings.choices import Arrival
from plantings.models import CensusRound, Observation, Planting, Tree
from plantings.selectors.census.records import ROUNDS
from plantings.selectors.census.rounds import missing_trees
from plantings.services.census.checks import row_checks
from plantings.services.census.corrections import check_correction, corrected_as
from plantings.services.census.review_tallies import review_tallies_follow
from plantings.services.census.tallies import NewRecords, tallies_add
from registry.calc.shared.screen import amount_words
from registry.models.shared.among import Keys
from registry.selectors.shared.local_words import local_value
from registry.services.audit.trail import append_in_bulk, audit_record
from registry.services.audit.write import write
from registry.services.shared.progress import counted
from registry.services.shared.table_statistics import statistics_refresh

__all__ = [
    "CensusRefused",
    "CensusRow",
    "as_stored",
    "observation_correct",
    "observations_record",
    "rest_not_visited",
]


@dataclass(slots=True, unsafe_hash=True)
class CensusRow(SeenRow):
    """One observation on its way in. `uuid` is made by whoever wrote it down, so that sending twice stores once; None: made when stored."""

    round_id: int
    tree_id: int
    observer: str = ""
    supersedes_id: int | None = None
    reason: str = ""
    arrived_as: str = Arrival.RECEIVED.value
    uuid: UUID | None = field(default_factory=uuid4)


_UUID_BYTES = 16
MANY_ROWS = 1_000  # more than a phone or a grid sends at once
_NAMES = [item.name for item in fields(CensusRow) if item.name != "uuid"]
_get_values = attrgetter(*_NAMES)
_COLUMNS = [name.removesuffix("_id") for name in _NAMES]


class CensusRefused(Exception):
    """Nothing was stored. `problems` is {row number from 0: tuple of Finding}."""

    def __init__(self, problems):
        self.problems = problems
        first = next(iter(problems.values()))[0]
        super().__init__(f"{amount_words(len(problems), 'rows')} refused. The first: {first.message}")


@write
def observations_record(*, actor, rows, received_at=None, reason=""):
    """Store census rows, all or none, and bring the tallies they touch up to date.

    Returns the number of rows stored. A row whose `uuid` is stored already is skipped, so that sending
    it again changes nothing. Raises `CensusRefused` when a row breaks a rule.
    """
    rounds = CensusRound.objects.select_related("planting", "protocol").in_bulk({row.round_id for row in rows})
    touched = {item.planting_id for item in rounds.values()}
    plantings = list(Planting.objects.select_for_update().filter(pk__in=touched).order_by("pk"))  # one lock order for all
    rows = _without_known(rows)
    _refuse_wrong(rows, rounds, plantings)
    before = Observation.objects.aggregate(pk=Max("pk"))["pk"] or 0  # nobody else writes for these plantings: their rows are locked
    stamp = received_at or timezone.now()
    append_in_bulk(
        Observation,
        [*_COLUMNS, "uuid", "entered_by", "received_at"],
        ((*_get_values(as_stored(row)), uuid, actor.pk, stamp) for row, uuid in zip(rows, _identifiers(rows), strict=True)),
    )
    if len(rows) >= MANY_ROWS:
        statistics_refresh(Tree, Observation)
    new = defaultdict(dict)
    for pk, round_pk, tree in Observation.objects.filter(pk__gt=before).order_by().values_list("pk", "round_id", "tree_id"):
        if round_pk in rounds:  # on PostgreSQL others may write for other plantings meanwhile
            new[rounds[round_pk].planting_id][pk] = tree
    review_tallies_follow(rows)
    in_rounds = defaultdict(list)
    for pk, census_round in rounds.items():
        in_rounds[census_round.planting_id].append(pk)
    labels = defaultdict(dict)  # in the order of the rows
    for pk in dict.fromkeys(row.round_id for row in rows):
        labels[rounds[pk].planting_id][rounds[pk].label] = None
    plantings = [planting for planting in plantings if new[planting.pk]]
    tallies_add(*(NewRecords(planting, in_rounds[planting.pk], trees=new[planting.pk]) for planting in plantings))
    for planting in counted(plantings, "Saving census records", "plantings", every=1):
        records = new[planting.pk]
        changes = {"observations": [None, len(records)], ROUNDS: [None, list(labels[planting.pk])]}
        audit_record(
            actor=actor, verb="planting.census_recorded", obj=planting, changes=changes, reason=reason, in_bulk=(Observation, records)
        )
    return len(rows)


def as_stored(row):
    """A row as it is stored: a death without a cause gets the unknown one."""
    return replace(row, cause=UNKNOWN_CAUSE) if row.status == DEAD and not row.cause else row


def _identifiers(rows):
    """The identifier of each row. Those made here ascend, so that many rows go into the index of identifiers in its own order: one after
    the other wherever they fall takes the database twice as long to store them."""
    drawn = urandom(_UUID_BYTES * sum(row.uuid is None for row in rows))
    numbers = sorted(int.from_bytes(drawn[start : start + _UUID_BYTES], "big") for start in range(0, len(drawn), _UUID_BYTES))
    made = (UUID(int=number, version=4) for number in numbers)  # as `uuid4` makes them, drawn at once
    return (row.uuid or next(made) for row in rows)


def _without_known(rows):
    known = {uuid for (uuid,) in _read(Observation.objects, "uuid", [row.uuid for row in rows if row.uuid], ("uuid",))}
    return [row for row in rows if row.uuid not in known] if known else rows


def _read(records, by, keys, names):
    """The values of the records that have one of these keys in `by`. It asks the database only where keys are given."""
    return records.filter(**{f"{by}__among": Keys(keys)}).order_by().values_list(*names) if keys else ()


def _refuse_wrong(rows, rounds, plantings):
    trees = {
        pk: (planting, planted_on)
        for pk, planting, planted_on in _read(Tree.objects, "pk", {row.tree_id for row in rows}, ("pk", "planting_id", "planted_on"))
    }
    planted = {planting.pk: planting.planted_on for planting in plantings}
    names = ("pk", "round_id", "tree_id", "superseded_by")
    corrected = {
        pk: rest for pk, *rest in _read(Observation.objects, "pk", {row.supersedes_id for row in rows if row.supersedes_id}, names)
    }
    checks = {census_round.pk: row_checks(census_round) for census_round in rounds.values()}
    problems = {}
    for number, row in enumerate(rows):
        census_round, tree = rounds.get(row.round_id), trees.get(row.tree_id)
        if census_round is None or tree is None or tree[0] != census_round.planting_id:
            found = (Finding("tree", ERROR, gettext_noop("This tree is not in the planting of this round.")),)
        else:
            found = checks[row.round_id].findings(row, tree[1] or planted[tree[0]])
            if row.supersedes_id and (fault := _correction_fault(row, *corrected[row.supersedes_id])):
                found = (Finding("tree", ERROR, fault), *found)
        if found and any(finding.severity == ERROR for finding in found):
            problems[number] = found
    if problems:
        raise CensusRefused(problems)


def _correction_fault(row, round_pk, tree, superseded_by):
    """Why a row cannot correct the record it says it corrects; "" where it can."""
    if (round_pk, tree) != (row.round_id, row.tree_id):
        return gettext_noop("This corrects a record of another tree or round.")
    return gettext_noop("This record is already corrected. Correct the newest one.") if superseded_by else ""


@write
def observation_correct(*, actor, observation, reason, **changes):
    """Correct a record by a new one that says who, when and why. The record itself stays.

    Who may not correct every record corrects their own while the round is open. A cause of death or removal goes with the
    status it was for, unless the correction gives another. By whom reviews records it is accepted with that; any other is received.
    """
    check_correction(actor, observation, reason)
    row = CensusRow(**{name: getattr(observation, name) for name in _NAMES if name not in {"supersedes_id", "reason"}})
    if changes.get("status", row.status) not in CAUSES_BY_STATUS and changes.get("cause", row.cause) == row.cause:
        changes["cause"] = ""
    arrived_as = corrected_as(actor)
    row = replace(row, **changes, supersedes_id=observation.pk, reason=reason, arrived_as=arrived_as, uuid=uuid4())
    observations_record(actor=actor, rows=[row])
    return Observation.objects.get(uuid=row.uuid)


@write
def rest_not_visited(*, actor, census_round, why, observed_on=None, observer=""):
    """Record every tree of a round that has no record as not visited, each with the reason. Returns how many."""
    Planting.objects.select_for_update().get(pk=census_round.planting_id)  # what others record meanwhile is not among them
    if not why.strip():
        raise ValidationError({"why": gettext("Say why these trees were not visited.")})
    said = {"status": NOT_VISITED, "observed_on": observed_on, "observer": observer, "note": why.strip()}
    rows = [CensusRow(census_round.pk, pk, uuid=None, **said) for pk in missing_trees(census_round).values_list("pk", flat=True)]
    if not rows:
        raise ValidationError(gettext("Every tree of this round has a record."))
    try:
        observations_record(actor=actor, rows=rows)
    except CensusRefused as refused:  # only the day can be wrong, such as one before planting
        found = {finding.said(gettext, local_value) for findings in refused.problems.values() for finding in findings}
        raise ValidationError({"observed_on": sorted(found)}) from refused
    return len(rows)
