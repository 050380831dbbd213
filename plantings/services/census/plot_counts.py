"""Writes the counts of plots. A count that was received stays; a correction is a new count."""

from uuid import uuid4

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext

from plantings.calc.census.plots import COUNT_OF_A_PLOT_MOST
from plantings.choices import Arrival
from plantings.models import Planting, PlotCount
from plantings.selectors.census.records import ROUNDS
from plantings.services.census.corrections import check_correction, corrected_as
from plantings.services.census.review_tallies import review_tallies_rebuild
from plantings.services.census.tallies import NewRecords, tallies_add
from registry.calc.shared.part_dates import surely_before
from registry.selectors.shared.local_words import local_count, local_day
from registry.services.audit.trail import append_rows, audit_record
from registry.services.audit.write import write
from registry.services.shared.past_day import day_check


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
        tallies_add(NewRecords(planting, [census_round.pk], plots={count.pk: count.plot_id for count in new}))
        changes = {"plot counts": [None, len(new)], ROUNDS: [None, [census_round.label]]}
        audit_record(actor=actor, verb="planting.census_recorded", obj=planting, changes=changes, reason=reason)
    return stored


@write
def plot_count_correct(*, actor, count, reason, **changes):
    """Correct the count of a plot by a new one; the count itself stays. Who may do so is as for an observation."""
    Planting.objects.select_for_update().get(pk=count.round.planting_id)  # of two corrections the second waits, and sees the first
    check_correction(actor, count, reason)
    kept = {name: getattr(count, name) for name in ("alive", "dead", "observed_on", "observer", "note")}
    kept["arrived_as"] = corrected_as(actor)
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
    if max(alive, dead) > COUNT_OF_A_PLOT_MOST:
        words = gettext("No plot holds more than %(most)s trees. Check the count of plot %(plot)s for a digit too many.")
        raise ValidationError({"alive": words % {"most": local_count(COUNT_OF_A_PLOT_MOST), "plot": plot}})
