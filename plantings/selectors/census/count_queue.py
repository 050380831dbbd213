"""The counts of plots of a round that nobody has read, each with what its plot had before."""

from dataclasses import dataclass

from plantings.choices import ReviewState
from plantings.models import PlotCount
from plantings.selectors.census.reviews import is_unread
from registry.calc.shared.screen import day_words

__all__ = ["CountLine", "CountQueue", "count_queue"]


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
    """The CountQueue of a round. Two queries, one where it has no count."""
    counts = list(
        PlotCount.objects.current().filter(round=census_round).with_review().select_related("plot", "entered_by")
        .order_by("plot__code", "observed_on", "pk")
    )  # fmt: skip
    last, by_plot = {}, {}
    if counts:
        earlier = PlotCount.objects.current().filter(
            plot__in={count.plot_id for count in counts}, round__opens_on__lt=census_round.opens_on
        )
        last = {count.plot_id: count for count in earlier.select_related("plot").order_by("round__opens_on", "observed_on", "pk")}
    for count in counts:
        by_plot.setdefault(count.plot_id, []).append(count)
    found = CountQueue([], [], [])
    for count in counts:
        count.round = census_round
        line = CountLine(count, last.get(count.plot_id), tuple(_looks(count, last.get(count.plot_id), by_plot[count.plot_id])))
        if is_unread(count):
            (found.odd if line.looks else found.clean).append(line)
        elif count.review_state == ReviewState.ASKED_BACK:
            found.asked.append(line)
    return found


def _looks(count, last, of_plot):
    """What a person should look at before a count is accepted. Seed may come up late, so a plot can have more alive trees than before."""
    if last and count.alive > last.alive:
        yield f"More alive than before: {count.alive:,} after {last.alive:,} on {day_words(last.observed_on)}."
    if any((other.alive, other.dead) != (count.alive, count.dead) for other in of_plot):
        yield "Two counts of this plot disagree."
    if not count.round.opens_on <= count.observed_on <= count.round.closes_on:
        yield f"Counted on {day_words(count.observed_on)}, outside the window of the round."
