"""Counted plots that nobody knows the number planted of: what is said of them in place of a number, and their counts over time."""

from collections import Counter
from typing import NamedTuple

from django.utils.translation import gettext, gettext_lazy, gettext_noop

from plantings.models import CountedPlot, PlotCount
from registry.selectors.identity.descent import linked
from registry.selectors.shared.local_units import local_amount
from registry.selectors.shared.local_words import local_count

__all__ = [
    "NUMBER_NOT_KNOWN",
    "NUMBER_UNKNOWN",
    "NO_SURVIVAL",
    "UnknownPlot",
    "planted_words",
    "plot_planted_words",
    "unknown_plots",
    "unknown_plots_of",
]

NUMBER_UNKNOWN = gettext_noop("not known")
NO_SURVIVAL = gettext_lazy(
    "Nobody knows how many were planted or sown here, so there are counts over time and no survival: these plots are in no share, total or "
    "map."
)
NUMBER_NOT_KNOWN = gettext_lazy(
    "Nobody knows: some planted trees are not on record, and the dead may be among those. There are records of its trees, and no survival."
)


class UnknownPlot(NamedTuple):
    """A plot, and {round pk: its last count there that is neither corrected nor rejected}."""

    plot: CountedPlot
    counts: dict


def unknown_plots_of(planting):
    """The UnknownPlots of a planting. Two queries."""
    plots = list(planting.counted_plots.unknown().select_related("entry__lot"))
    counts = {}
    for count in PlotCount.objects.over_time().filter(plot__in=plots).order_by("observed_on", "pk"):
        counts.setdefault(count.plot_id, {})[count.round_id] = count
    return [UnknownPlot(plot, counts.get(plot.pk, {})) for plot in plots]


def unknown_plots(entries):
    """{entry key: how many of its plots have an unknown number planted} of those of some entries (a set or dict) that have any."""
    return Counter(linked(CountedPlot.objects.unknown(), "entry", entries, "entry"))


def plot_planted_words(plot):
    """How many were planted in a plot: '120', or 'not known'."""
    return gettext(NUMBER_UNKNOWN) if plot.planted_count is None else local_count(plot.planted_count)


def planted_words(planted, plots, trees_left_out=False):
    """How many were planted, besides `plots` of an unknown number: '120 planted', 'an unknown number planted in 2 plots'; where some
    planted trees are not on record '120 on record of an unknown number planted'."""
    if trees_left_out:
        return gettext("%(n)s on record of an unknown number planted") % {"n": local_count(planted)}
    if not plots:
        return gettext("%(n)s planted") % {"n": local_count(planted)}
    values = {"n": local_count(planted), "plots": local_amount(plots, "plots")}
    if planted:
        return gettext("%(n)s planted, and an unknown number in %(plots)s") % values
    return gettext("an unknown number planted in %(plots)s") % values
