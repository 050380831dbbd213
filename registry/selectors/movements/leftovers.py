"""How many of a shipment line are neither planted nor settled. What was planted is known to the plantings, which say it here."""

__all__ = ["count_unplanted_by", "line_unsettled"]

_counters = []


def count_unplanted_by(counter):
    """Register the function that gives how many of a shipment line may still be planted; called once, when the plantings are set up."""
    _counters[:] = [counter]


def line_unsettled(line):
    """Seeds or plants of a shipment line that were received and neither planted, returned nor destroyed; None without plantings."""
    return next((counter(line) for counter in _counters), None)
