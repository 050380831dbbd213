"""Reads of the prints that were made."""

from registry.models import IssuedPrint, Lot, PedigreeTree, Shipment

__all__ = ["prints_of"]

_LINKS = {Lot: "lots", Shipment: "shipments", PedigreeTree: "trees"}


def prints_of(record):
    """The prints that name a lot, a shipment or a tree of the pedigree, the newest first."""
    return IssuedPrint.objects.filter(**{_LINKS[type(record)]: record}).select_related("entered_by")
