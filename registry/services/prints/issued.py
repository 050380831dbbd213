"""The record of a print that was made."""

import hashlib

from django.utils import timezone

from registry.models import IssuedPrint
from registry.models.audit import stored_name
from registry.services.audit.trail import append_row, audit_record
from registry.services.audit.write import write

__all__ = ["print_record"]


@write
def print_record(*, actor, kind, title, filename, content, lots=(), shipments=(), trees=(), authorizations=()):
    """Record a print as it is downloaded: its hash and size, and which records it names. The file itself is not stored.

    Parameters
    ----------
    actor : Person
    kind : str
        A code of `IssuedKind`.
    title, filename : str
    content : bytes
        The file as it is downloaded.
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
    made = IssuedPrint(
        kind=kind, title=title, filename=filename, sha256=hashlib.sha256(content).hexdigest(), size_bytes=len(content),
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
