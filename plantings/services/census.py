"""Writes census records. A record that was received is never lost, changed or doubled; a correction is a new record."""

from collections import defaultdict
from dataclasses import dataclass, field, fields, replace
from operator import attrgetter
from uuid import UUID, uuid4

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext, gettext_noop

from plantings.calc.arrival.arrival import Window, row_looks
from plantings.calc.census.codes import CAUSES_BY_STATUS, DEAD, NOT_VISITED, UNKNOWN_CAUSE
from plantings.calc.census.limits import LIMITS
from plantings.calc.census.measurements import ERROR, FIELDS
from plantings.calc.census.row_checks import RowChecks
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.calc.census.rules import check_row
from plantings.calc.results import Finding
from plantings.choices import Arrival
from plantings.models import CensusRound, Observation, Planting, PlotCount, Tree
from plantings.selectors.census.asked import own_at, protocol_asks
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.records import may_correct
from plantings.selectors.census.rounds import last_seen, missing_trees
from plantings.services.review_tallies import review_tallies_follow, review_tallies_rebuild
from plantings.services.tallies import tallies_add
from registry.calc.shared.part_dates import surely_before
from registry.calc.shared.screen import amount_words
from registry.calc.shared.worded import worded
from registry.models.shared.among import Keys
from registry.selectors.shared.local_words import local_day, local_value
from registry.services.audit.trail import append_in_bulk, append_rows, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check, day_fault
from registry.services.shared.progress import counted
from registry.services.shared.table_statistics import statistics_refresh

__all__ = [
    "CensusRefused",
    "CensusRow",
    "PlotCountRefused",
    "as_stored",
    "observation_correct",
    "observations_record",
    "odd_readings",
    "plot_count_check",
    "plot_count_correct",
    "plot_count_record",
    "plot_counts_record",
    "rest_not_visited",
    "row_checks",
    "row_findings",
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
    arrived_as: str = Arrival.RECEIVED.value
    uuid: UUID = field(default_factory=uuid4)


MANY_ROWS = 1_000  # more than a phone or a grid sends at once
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


def row_findings(row, census_round, planted_on, limits=LIMITS, asked=None):
    """Errors and warnings of one row by itself; the same for form, grid and file. Only warnings go by the limits.

    `asked` is what `protocol_asks` gives, where the caller has read it.
    """
    asked = asked if asked is not None else protocol_asks(census_round)
    found = check_row(row, planted_on, census_round.opens_on, census_round.closes_on, limits, asked)
    fault = day_fault(row.observed_on)
    return (Finding("observed_on", ERROR, fault), *found) if fault else found


def row_checks(census_round, limits=LIMITS):
    """`row_findings` of the rows of one round, for many of them."""
    asked = protocol_asks(census_round)
    return RowChecks(lambda row, planted_on: row_findings(row, census_round, planted_on, limits, asked))


def second_looks(census_round, rows, planted=None):
    """{tree pk: tuple of warnings} for rows, or stored observations, that need a second look. Warnings block nothing.

    `planted` is {tree pk: its own day of planting, or None}, where the caller has read the trees.
    """
    keys = [row.tree_id for row in rows]
    if planted is None:
        planted = dict(Tree.objects.filter(pk__in=keys).values_list("pk", "planted_on"))
    last, limits, own = last_seen(census_round, keys), check_limits(), own_at(census_round)
    looks = {}
    for row in rows:
        planted_on = planted.get(row.tree_id) or census_round.planting.planted_on
        window = Window(planted_on, census_round.opens_on, census_round.closes_on)
        if found := row_looks(row, last.get(row.tree_id, LastSeen()), window, limits, own):
            looks[row.tree_id] = (*looks.get(row.tree_id, ()), *found)
    return looks


def odd_readings(census_round, rows):
    """{tree pk: [(field, what to ask)]} of readings that look odd, to ask about before they are stored.

    The question does not show the earlier reading, since that would lead whoever measures again. For a measurement of the programme's own
    it names the unit.
    """
    asked, own = {}, {item.field: item for item in own_at(census_round)}
    for tree, looks in second_looks(census_round, rows).items():
        if names := dict.fromkeys(finding.field for finding in looks if finding.field in FIELDS or finding.field in own):
            asked[tree] = [(name, _own_looks_odd(own[name]) if name in own else _LOOKS_ODD) for name in names]
    return asked


def _own_looks_odd(item):
    return worded("%(label)s in %(unit)s: this reading looks odd. Check it and its unit; if it is right, save again.",
                  label=item.label, unit=item.unit)  # fmt: skip


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
        [*_COLUMNS, "entered_by", "received_at"],
        ((*_get_values(as_stored(row)), actor.pk, stamp) for row in rows),
    )
    if len(rows) >= MANY_ROWS:
        statistics_refresh(Tree, Observation)
    new = defaultdict(dict)
    for pk, round_pk, tree in Observation.objects.filter(pk__gt=before).order_by().values_list("pk", "round_id", "tree_id"):
        if round_pk in rounds:  # on PostgreSQL others may write for other plantings meanwhile
            new[rounds[round_pk].planting_id][pk] = tree
    review_tallies_follow(rows)
    for planting in counted(plantings, "Saving census records", "plantings", every=1):
        if records := new[planting.pk]:
            tallies_add(planting, trees=records, in_rounds=[pk for pk, found in rounds.items() if found.planting_id == planting.pk])
            changes = {"observations": [None, len(records)]}
            audit_record(
                actor=actor, verb="planting.census_recorded", obj=planting, changes=changes, reason=reason, in_bulk=(Observation, records)
            )
    return len(rows)


def as_stored(row):
    """A row as it is stored: a death without a cause gets the unknown one."""
    return replace(row, cause=UNKNOWN_CAUSE) if row.status == DEAD and not row.cause else row


def _without_known(rows):
    known = {uuid for (uuid,) in _read(Observation.objects, "uuid", [row.uuid for row in rows], ("uuid",))}
    return [row for row in rows if row.uuid not in known] if known else rows


def _read(records, by, keys, names):
    """The values of records whose `by` is one of many keys."""
    return records.filter(**{f"{by}__among": Keys(keys)}).order_by().values_list(*names)


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
        if any(finding.severity == ERROR for finding in found):
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
    _check_correction(actor, observation, reason)
    row = CensusRow(**{name: getattr(observation, name) for name in _NAMES if name not in {"uuid", "supersedes_id", "reason"}})
    if changes.get("status", row.status) not in CAUSES_BY_STATUS and changes.get("cause", row.cause) == row.cause:
        changes["cause"] = ""
    arrived_as = _corrected_as(actor)
    row = replace(row, **changes, supersedes_id=observation.pk, reason=reason, arrived_as=arrived_as, uuid=uuid4())
    observations_record(actor=actor, rows=[row])
    return Observation.objects.get(uuid=row.uuid)


def _corrected_as(actor):
    """How a correction comes in: accepted by whom reviews records, otherwise received."""
    return (Arrival.ACCEPTED if actor.may("observation.review") else Arrival.RECEIVED).value


def _check_correction(actor, record, reason):
    """Refuse the correction of an observation or a plot count by who may not, without a reason, or a second time."""
    is_asked_back = type(record).objects.asked_back().filter(pk=record.pk)
    if not may_correct(actor, record, timezone.localdate()) and not (actor.may("census.enter") and is_asked_back.exists()):
        raise ValidationError(gettext("You can correct your own records while the round is open. Ask the coordinator to correct this one."))
    if not reason.strip():
        raise ValidationError({"reason": gettext("Say why the earlier record is corrected.")})
    if type(record).objects.filter(supersedes=record).exists():
        raise ValidationError(gettext("This record is already corrected. Correct the newest one."))


@write
def rest_not_visited(*, actor, census_round, why, observed_on=None, observer=""):
    """Record every tree of a round that has no record as not visited, each with the reason. Returns how many."""
    Planting.objects.select_for_update().get(pk=census_round.planting_id)  # what others record meanwhile is not among them
    if not why.strip():
        raise ValidationError({"why": gettext("Say why these trees were not visited.")})
    said = {"status": NOT_VISITED, "observed_on": observed_on, "observer": observer, "note": why.strip()}
    rows = [CensusRow(census_round.pk, pk, **said) for pk in missing_trees(census_round).values_list("pk", flat=True)]
    if not rows:
        raise ValidationError(gettext("Every tree of this round has a record."))
    try:
        observations_record(actor=actor, rows=rows)
    except CensusRefused as refused:  # only the day can be wrong, such as one before planting
        found = {finding.said(gettext, local_value) for findings in refused.problems.values() for finding in findings}
        raise ValidationError({"observed_on": sorted(found)}) from refused
    return len(rows)


class PlotCountRefused(Exception):
    """Nothing was stored. `number` is the place of the wrong count in the list, from 0, `plot` its plot, `messages` say why."""

    def __init__(self, number, plot, messages):
        super().__init__(f"Plot {plot}: {' '.join(messages)}")
        self.number, self.plot, self.messages = number, plot, messages


@write
def plot_counts_record(*, actor, census_round, counts, received_at=None, reason="", **head):
    """Record the counts of several plots, all or none: dicts of what `plot_count_record` takes, with `head` for each of them.

    Returns the stored counts in order, for a `uuid` that is stored already that count. `reason` is for the audit trail. Raises
    PlotCountRefused at the first that is wrong.
    """
    planting = Planting.objects.select_for_update().get(pk=census_round.planting_id)
    found = {known.uuid: known for known in PlotCount.objects.filter(uuid__in=[count["uuid"] for count in counts if count.get("uuid")])}
    stored, new = [], []
    for number, count in enumerate(counts):
        uuid = count.get("uuid") or uuid4()
        if uuid not in found:
            try:
                found[uuid] = _checked_count(planting, census_round, actor, received_at, **head | count | {"uuid": uuid})
            except ValidationError as error:
                raise PlotCountRefused(number, count["plot"], error.messages) from error
            new.append(found[uuid])
        stored.append(found[uuid])
    if new:
        append_rows(new)
        review_tallies_rebuild({census_round.pk})
        tallies_add(planting, plots={count.pk: count.plot_id for count in new}, in_rounds=[census_round.pk])
        changes = {"plot counts": [None, len(new)]}
        audit_record(actor=actor, verb="planting.census_recorded", obj=planting, changes=changes, reason=reason)
    return stored


@write
def plot_count_correct(*, actor, count, reason, **changes):
    """Correct the count of a plot by a new one; the count itself stays. Who may do so is as for an observation."""
    Planting.objects.select_for_update().get(pk=count.round.planting_id)  # of two corrections the second waits, and sees the first
    _check_correction(actor, count, reason)
    kept = {name: getattr(count, name) for name in ("alive", "dead", "observed_on", "observer", "note")}
    kept["arrived_as"] = _corrected_as(actor)
    return plot_count_record(actor=actor, census_round=count.round, plot=count.plot, supersedes=count, reason=reason, **kept | changes)


@write
def plot_count_record(*, actor, census_round, **count):
    """Record how many trees of a counted plot are alive: `plot`, `alive`, `observed_on`, and where known `dead`, `observer`, `note`;
    `supersedes` and its `reason` for a correction; `arrived_as`. For a `uuid` that is stored already, return the stored count."""
    try:
        [stored] = plot_counts_record(actor=actor, census_round=census_round, counts=[count])
    except PlotCountRefused as refused:
        raise refused.__cause__ from None
    return stored


def _checked_count(
    planting,
    census_round,
    actor,
    received_at,
    *,
    plot,
    alive,
    observed_on,
    uuid,
    dead=0,
    observer="",
    note="",
    supersedes=None,
    reason="",
    arrived_as=Arrival.RECEIVED.value,
):
    """A count that keeps the rules, not stored yet."""
    if plot.planting_id != planting.pk:
        raise ValidationError({"plot": f"Plot {plot} is not in planting {planting}."})
    plot_count_check(planting=planting, plot=plot, alive=alive, dead=dead, observed_on=observed_on)
    count = PlotCount(
        uuid=uuid, round=census_round, plot=plot, alive=alive, dead=dead, observed_on=observed_on, observer=observer, note=note,
        entered_by=actor, received_at=received_at or timezone.now(), supersedes=supersedes, reason=reason, arrived_as=arrived_as,
    )  # fmt: skip
    if supersedes is None:
        # the links were read just before; a query for each of them, of thousands of counts, would be most of the work
        count.clean_fields(exclude=["round", "plot", "entered_by", "supersedes"])
        count.clean()
        count.validate_constraints(exclude=["uuid", "supersedes"])
    else:
        count.full_clean()
    return count


def plot_count_check(*, planting, plot, alive, dead, observed_on):
    """Raise ValidationError where a count of a plot breaks a rule by itself; a sheet asks this of every row before it stores any."""
    day_check(observed_on=observed_on)
    if planting.planted_on and surely_before(observed_on, planting.planted_on):
        days = {"counted": local_day(observed_on), "planted": local_day(planting.planted_on)}
        message = gettext("Counted on %(counted)s, before planting on %(planted)s. Check both dates.") % days
        raise ValidationError({"observed_on": message})
    if plot.planted_count is not None and alive + dead > plot.planted_count:
        counts = {"alive": alive, "dead": dead, "planted": plot.planted_count, "plot": plot}
        words = gettext("%(alive)s alive and %(dead)s dead are more than the %(planted)s planted in plot %(plot)s.") % counts
        raise ValidationError({"alive": words})
