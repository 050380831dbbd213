"""The end of the audit trail as it is stored."""

from typing import NamedTuple

from registry.models import AuditHead

__all__ = ["ChainHead", "chain_head"]


class ChainHead(NamedTuple):
    """How many entries the trail has, and the hash of the last one; 0 and "" before the first."""

    entries: int = 0
    sha256: str = ""


def chain_head():
    """The ChainHead as stored. One query."""
    found = AuditHead.objects.order_by("pk").values_list("entries", "sha256").first()
    return ChainHead(*found) if found else ChainHead()
