"""How many of a shipment line are neither planted nor settled. What was planted is known to the plantings, which say it here."""

from collections import defaultdict

from registry.calc.lots.leftovers import still_held
from registry.choices import LeftoverOutcome

__all__ = ["count_unplanted_by", "held_of", "leftover_reports", "line_unsettled"]

_counters = []


def count_unplanted_by(counter):
    """Register the function that gives how many of a shipment line may still be planted; called once, when the plantings are set up."""
    _counters[:] = [counter]


def line_unsettled(line):
    """Seeds or plants of a shipment line that were received and neither planted, returned nor destroyed; None without plantings."""
    return next((counter(line) for counter in _counters), None)


def leftover_reports(leftovers):
    """{key of a shipment line: [(outcome, count)] in the order of time} of a queryset of leftovers, without those taken back."""
    reports = defaultdict(list)
    for line, *report in leftovers.in_effect().order_by("on", "pk").values_list("line", "outcome", "count"):
        reports[line].append(tuple(report))
    return reports


def held_of(reports, unsettled):
    """How many of a shipment line are still held, of the `unsettled` (None: not known), by its reports of `leftover_reports`."""
    return still_held(((outcome == LeftoverOutcome.HELD, count) for outcome, count in reports), unsettled)
