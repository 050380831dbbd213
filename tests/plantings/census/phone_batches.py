"""Records as a phone sends them, for the tests of the phone census."""

import datetime
import itertools
from uuid import UUID

_numbers = itertools.count(1)
NOON = datetime.datetime(2019, 9, 14, 16, 0, tzinfo=datetime.UTC)  # noon in New York


def ms(moment):
    return int(moment.timestamp() * 1000)


def new_uuid():
    return str(UUID(int=next(_numbers) + (4 << 76) + (8 << 60)))


def sent(tree, status="A", *, at=NOON, **fields):
    """One record as the phone writes it."""
    record = {
        "uuid": new_uuid(), "tree": tree.pk, "status": status, "cause": "", "values": {}, "note": "", "observer": "R. Counter",
        "at": ms(at), "said": at.date().isoformat(), "loaded": ms(at) - 3_600_000,
    }  # fmt: skip
    return record | fields
