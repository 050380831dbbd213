"""The counts of plots of a round that nobody has read, each with what its plot had before; what the checks say of a count."""

from dataclasses import dataclass

from plantings.calc.arrival.arrival import Window
from plantings.calc.arrival.counts import CountSeen, count_looks
from plantings.choices import ReviewState
from plantings.models import PlotCount
from plantings.selectors.census.limits import check_limits
from plantings.selectors.census.reviews import is_unread
from registry.choices import LotKind
from registry.selectors.shared.local_words import local_value

__all__ = ["CountLine", "CountQueue", "count_findings", "count_queue", "last_counts"]


@dataclass(frozen=True, slots=True)
class CountLine:
    """A count, the last one of its plot in an earlier round or None, and why it is listed."""

    count: PlotCount
    last: PlotCount | None
    looks: tuple = ()


@dataclass(frozen=True, slots=True)
class CountQueue:
    """`clean` and `odd` counts wait to be read, `asked` for an answer of the crew; in the order of their plots."""

    clean: list
    odd: list
    asked: list


def count_queue(census_round):
    """The CountQueue of a round. Three queries, one where it has no count."""
    counts = list(
        PlotCount.objects.current().filter(round=census_round).with_review().select_related("plot__entry__lot", "entered_by")
        .order_by("plot__code", "observed_on", "pk")
    )  # fmt: skip
    if not counts:
        return CountQueue([], [], [])
    last, limits, by_plot = last_counts(census_round, {count.plot_id for count in counts}), check_limits(), {}
    for count in counts:
        by_plot.setdefault(count.plot_id, []).append(count)
    found = CountQueue([], [], [])
    for count in counts:
        count.round = census_round
        earlier = last.get(count.plot_id)
        looks = [finding.said(str, local_value) for finding in _looks(census_round, count.plot, count, earlier, limits)]
        if any((other.alive, other.dead) != (count.alive, count.dead) for other in by_plot[count.plot_id]):
            looks.append("Two counts of this plot disagree.")
        line = CountLine(count, earlier, tuple(looks))
        if is_unread(count):
            (found.odd if line.looks else found.clean).append(line)
        elif count.review_state == ReviewState.ASKED_BACK:
            found.asked.append(line)
    return found


def count_findings(census_round, counts):
    """{plot: its findings} of counts that are not stored yet, [(plot with its lot, CountSeen)]: those of the queue, before anybody else
    has counted. Two queries."""
    last, limits = last_counts(census_round, {plot.pk for plot, _count in counts}), check_limits()
    found = {plot: _looks(census_round, plot, count, last.get(plot.pk), limits) for plot, count in counts}
    return {plot: looks for plot, looks in found.items() if looks}


def last_counts(census_round, plots):
    """{plot pk: its last count in an earlier round}: one query."""
    earlier = PlotCount.objects.current().filter(plot__in=plots, round__opens_on__lt=census_round.opens_on)
    return {count.plot_id: count for count in earlier.select_related("plot").order_by("round__opens_on", "observed_on", "pk")}


def _looks(census_round, plot, count, last, limits):
    """What a person should look at before a count is accepted."""
    seen = [one and CountSeen(one.alive, one.dead, one.observed_on, one.note) for one in (count, last)]
    window = Window(opens_on=census_round.opens_on, closes_on=census_round.closes_on)
    return count_looks(*seen, plot.planted_count, plot.entry.lot.kind == LotKind.SEED, window, limits)
