"""Reads of the papers handed out."""

from registry.models import IssuedPaper, Lot, PedigreeTree, Shipment

__all__ = ["papers_issued"]

_LINKS = {Lot: "lots", Shipment: "shipments", PedigreeTree: "trees"}


def papers_issued(record):
    """The papers that speak of a lot, a shipment or a tree of the pedigree, the newest first."""
    return IssuedPaper.objects.filter(**{_LINKS[type(record)]: record}).select_related("entered_by")
