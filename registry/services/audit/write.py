"""The one door of every write: what a service stores, its audit entries and the marks of open questions, all of it or nothing.

A service is marked `@write`. Services it calls join its write. When the outermost ends, in the same transaction,
1. open questions of identity are worked out again where trees or lots were written (`identity_spread_after`), and
2. the audit entries go into the chain, with the hashes of the append-only rows (`trail_append`).

A service cannot leave out either: `audit_record` and `append_row` raise `OutsideWrite` without it. Inside a write, whoever goes on
after a refusal opens a `writing()` for what may be refused, so that its entries go with its rows; `transaction.atomic` would keep them.
"""

from contextlib import ExitStack, contextmanager
from functools import wraps

from django.db import OperationalError, transaction

from registry.disk.faults import BUSY, is_busy
from registry.services.audit.busy import Busy, begin_write
from registry.services.audit.trail import OPEN_WRITE, OpenWrite, trail_append
from registry.services.identity.spread import identity_spread_after

__all__ = ["write", "writing"]


def write(service):
    """Marks a service: each call is a write."""

    @wraps(service)
    def written(*args, **given):
        with writing():
            return service(*args, **given)

    return written


@contextmanager
def writing():
    """A write, or a part of the open one that can be refused by itself. Yields it: `is_trial = True` takes it back at its end."""
    outer, now = OPEN_WRITE.get(), OpenWrite()
    opened = OPEN_WRITE.set(now)
    try:
        with ExitStack() as stack:
            begin_write(stack)
            yield now
            if now.is_trial:
                transaction.set_rollback(True)
            elif transaction.get_rollback():  # Django would take the rows back without a word, and the service would report success
                raise transaction.TransactionManagementError("An error of the database was passed over inside this write.")
            elif outer is None:
                identity_spread_after(now.models)
                trail_append(now)
    except OperationalError as error:
        if outer is None and is_busy(error):
            raise Busy(BUSY) from error
        raise
    finally:
        OPEN_WRITE.reset(opened)
    if outer is not None and not now.is_trial:
        outer.take_over(now)
