"""The record of a print that was made."""

import hashlib

from django.utils import timezone

from registry.models import IssuedPrint
from registry.models.audit import stored_name
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["print_record"]


@write
def print_record(*, actor, kind, title, filename, content=None, sha256="", size=0, lots=(), shipments=(), trees=(), authorizations=()):
    """Record a print as it is downloaded: its hash and size, and which records it names. The file itself is not stored.

    Parameters
    ----------
    actor : Person
    kind : str
        A code of `IssuedKind`.
    title, filename : str
    content : bytes, optional
        The file as it is downloaded; or else its `sha256` and `size`, of a file on the disk.
    lots, shipments, trees, authorizations : iterables of records
        `trees` are trees of the pedigree.

    Returns
    -------
    IssuedPrint

    Raises
    ------
    django.core.exceptions.ValidationError
        When the kind is not known, or title or name of the file are blank or too long.
    """
    if content is not None:
        sha256, size = hashlib.sha256(content).hexdigest(), len(content)
    made = IssuedPrint(
        kind=kind, title=title, filename=filename, sha256=sha256, size_bytes=size,
        entered_by=actor, entered_at=timezone.now(),
    )  # fmt: skip
    made.full_clean()
    append_row(made)
    linked = {"lots": lots, "shipments": shipments, "trees": trees, "authorizations": authorizations}
    changes = {}
    for name, records in linked.items():
        records = list(records)
        getattr(made, name).set(records)
        if records:
            changes[name] = [None, sorted(str(record) for record in records)]
    audit_record(actor=actor, verb=f"{stored_name(made)}.handed_out", obj=made, changes=changes)
    return made
