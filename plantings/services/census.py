"""Writes census records. A record that was received is never lost, changed or doubled; a correction is a new record."""

from collections import Counter
from dataclasses import dataclass, field, fields, replace
from operator import attrgetter
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.codes import CAUSES_BY_STATUS, DEAD, UNKNOWN_CAUSE
from plantings.calc.census.measurements import ERROR, FIELDS, WARNING
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.census.rules import check_row
from plantings.calc.results import Finding
from plantings.models import CensusRound, Observation, Planting, PlotCount, Tree
from plantings.selectors.census.records import may_correct
from plantings.selectors.census.rounds import last_seen
from plantings.services.tallies import tallies_rebuild
from registry.calc.shared.screen import amount_words
from registry.selectors.shared.local_words import local_day
from registry.services.audit.trail import append_in_bulk, append_row, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check, day_fault

__all__ = [
    "CensusRefused",
    "CensusRow",
    "as_stored",
    "observation_correct",
    "observations_record",
    "odd_readings",
    "plot_count_record",
    "second_looks",
]


@dataclass(frozen=True, slots=True)
class CensusRow(SeenRow):
    """One observation on its way in. `uuid` is made by whoever wrote it down, so that sending twice stores once."""

    round_id: int
    tree_id: int
    observer: str = ""
    supersedes_id: int | None = None
    reason: str = ""
    uuid: UUID = field(default_factory=uuid4)


_LOOKS_ODD = gettext_noop("This reading looks odd. Check it and its unit; if it is right, save again.")
_NAMES = [item.name for item in fields(CensusRow)]
_get_values = attrgetter(*_NAMES)
_COLUMNS = [name.removesuffix("_id") for name in _NAMES]


class CensusRefused(Exception):
    """Nothing was stored. `problems` is {row number from 0: tuple of Finding}."""

    def __init__(self, problems):
        self.problems = problems
        first = next(iter(problems.values()))[0]
        super().__init__(f"{amount_words(len(problems), 'rows')} refused. The first: {first.message}")


def row_findings(row, census_round, planted_on):
    """Errors and warnings of one row by itself; the same for form, grid and file."""
    found = check_row(row, planted_on, census_round.opens_on, census_round.closes_on)
    fault = day_fault(row.observed_on)
    return (Finding("observed_on", ERROR, fault), *found) if fault else found


def second_looks(census_round, rows):
    """{tree pk: tuple of warnings} for rows, or stored observations, that need a second look. Warnings block nothing."""
    keys = [row.tree_id for row in rows]
    planted = dict(Tree.objects.filter(pk__in=keys).values_list("pk", "planted_on"))
    last = last_seen(census_round, keys)
    looks = {}
    for row in rows:
        alone = row_findings(row, census_round, planted.get(row.tree_id) or census_round.planting.planted_on)
        found = [finding for finding in alone if finding.severity == WARNING]
        found += compare_with_last(row, last.get(row.tree_id, LastSeen()))
        if found:
            looks[row.tree_id] = (*looks.get(row.tree_id, ()), *found)
    return looks


def odd_readings(census_round, rows):
    """{tree pk: [(field, what to ask)]} of readings that look odd, to ask about before they are stored.

    What is asked names no earlier reading: it would lead whoever measures again.
    """
    asked = {}
    for tree, looks in second_looks(census_round, rows).items():
        if names := dict.fromkeys(finding.field for finding in looks if finding.field in FIELDS):
            asked[tree] = [(name, _LOOKS_ODD) for name in names]
    return asked


@write
def observations_record(*, actor, rows, received_at=None, reason=""):
    """Store census rows, all or none, and rebuild the tallies they touch.

    Returns the number of rows stored. A row whose `uuid` is stored already is skipped, so that sending
    it again changes nothing. Raises `CensusRefused` when a row breaks a rule.
    """
    rounds = {item.pk: item for item in CensusRound.objects.filter(pk__in={row.round_id for row in rows}).select_related("planting")}
    touched = {item.planting_id for item in rounds.values()}
    plantings = list(Planting.objects.select_for_update().filter(pk__in=touched).order_by("pk"))  # one lock order for all
    rows = _without_known(rows)
    _refuse_wrong(rows, rounds, plantings)
    before = Observation.objects.aggregate(pk=Max("pk"))["pk"] or 0  # nobody else writes for these plantings: their rows are locked
    stamp = received_at or timezone.now()
    append_in_bulk(
        Observation,
        [*_COLUMNS, "entered_by", "received_at"],
        [(*_get_values(as_stored(row)), actor.pk, stamp) for row in rows],
    )
    stored = Counter(rounds[row.round_id].planting_id for row in rows)
    for planting in plantings:
        if count := stored[planting.pk]:
            tallies_rebuild(planting)
            new = Observation.objects.filter(round__planting=planting, pk__gt=before)
            changes = {"observations": [None, count]}
            audit_record(actor=actor, verb="planting.census_recorded", obj=planting, changes=changes, in_bulk=new, reason=reason)
    return len(rows)


def as_stored(row):
    """A row as it is stored: a death without a cause gets the unknown one."""
    return replace(row, cause=UNKNOWN_CAUSE) if row.status == DEAD and not row.cause else row


def _without_known(rows):
    known = set()
    keys = [row.uuid for row in rows]
    for start in range(0, len(keys), 900):
        known.update(Observation.objects.filter(uuid__in=keys[start : start + 900]).values_list("uuid", flat=True))
    return [row for row in rows if row.uuid not in known] if known else rows


def _refuse_wrong(rows, rounds, plantings):
    trees = {
        pk: (planting, planted_on)
        for pk, planting, planted_on in Tree.objects.filter(planting__in=plantings).values_list("pk", "planting_id", "planted_on")
    }
    planted = {planting.pk: planting.planted_on for planting in plantings}
    problems = {}
    for number, row in enumerate(rows):
        census_round, tree = rounds.get(row.round_id), trees.get(row.tree_id)
        if census_round is None or tree is None or tree[0] != census_round.planting_id:
            found = (Finding("tree", ERROR, gettext_noop("This tree is not in the planting of this round.")),)
        else:
            found = row_findings(row, census_round, tree[1] or planted[tree[0]])
        if any(finding.severity == ERROR for finding in found):
            problems[number] = found
    if problems:
        raise CensusRefused(problems)


@write
def observation_correct(*, actor, observation, reason, **changes):
    """Correct a record by a new one that says who, when and why. The record itself stays.

    Who may not correct every record corrects their own while the round is open. A cause of death or removal goes with the
    status it was for, unless the correction gives another.
    """
    if not may_correct(actor, observation, timezone.localdate()):
        raise ValidationError("You can correct your own records while the round is open. Ask the coordinator to correct this one.")
    if not reason.strip():
        raise ValidationError({"reason": "Say why the earlier record is corrected."})
    if Observation.objects.filter(supersedes=observation).exists():
        raise ValidationError("This record is already corrected. Correct the newest one.")
    row = CensusRow(**{name: getattr(observation, name) for name in _NAMES if name not in {"uuid", "supersedes_id", "reason"}})
    if changes.get("status", row.status) not in CAUSES_BY_STATUS and changes.get("cause", row.cause) == row.cause:
        changes["cause"] = ""
    row = replace(row, **changes, supersedes_id=observation.pk, reason=reason, uuid=uuid4())
    observations_record(actor=actor, rows=[row])
    return Observation.objects.get(uuid=row.uuid)


@write
def plot_count_record(
    *, actor, census_round, plot, alive, observed_on, dead=0, observer="", note="", supersedes=None, reason="", uuid=None
):
    """Record how many trees of a counted plot are alive. For a `uuid` that is stored already, return the stored count."""
    planting = Planting.objects.select_for_update().get(pk=plot.planting_id)
    known = PlotCount.objects.filter(uuid=uuid).first() if uuid else None
    if known:
        return known
    if census_round.planting_id != planting.pk:
        raise ValidationError({"plot": f"Plot {plot} is not in planting {census_round.planting}."})
    day_check(observed_on=observed_on)
    if planting.planted_on and observed_on < planting.planted_on:
        days = {"counted": local_day(observed_on), "planted": local_day(planting.planted_on)}
        message = gettext("Counted on %(counted)s, before planting on %(planted)s. Check both dates.") % days
        raise ValidationError({"observed_on": message})
    if alive + dead > plot.planted_count:
        counts = {"alive": alive, "dead": dead, "planted": plot.planted_count, "plot": plot}
        words = gettext("%(alive)s alive and %(dead)s dead are more than the %(planted)s planted in plot %(plot)s.") % counts
        raise ValidationError({"alive": words})
    count = PlotCount(
        uuid=uuid or uuid4(), round=census_round, plot=plot, alive=alive, dead=dead, observed_on=observed_on, observer=observer,
        note=note, entered_by=actor, received_at=timezone.now(), supersedes=supersedes, reason=reason,
    )  # fmt: skip
    count.full_clean()
    append_row(count)
    tallies_rebuild(planting)
    audit_record(actor=actor, verb="planting.census_recorded", obj=planting, changes={"plot counts": [None, 1]})
    return count
