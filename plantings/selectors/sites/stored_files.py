"""The files of boundary layers, with the hashes that the audit trail has of them."""

from plantings.models import BoundaryLayer
from registry.models import AuditEntry
from registry.selectors.audit.stored_files import NamedFile

__all__ = ["layer_files"]


def layer_files():
    """A `NamedFile` for each layer; one added by an earlier version of the program has no hash."""
    added = AuditEntry.objects.filter(verb="boundarylayer.added").values_list("record_id", "changes")
    hashes = {pk: changes["sha256"][1] for pk, changes in added if "sha256" in changes}
    for layer in BoundaryLayer.objects.order_by("pk"):
        yield NamedFile(layer, layer.file.name, hashes.get(layer.pk, ""))
