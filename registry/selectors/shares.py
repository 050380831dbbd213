"""Reads about measured shares: each beside the share its generation leads one to expect."""

from dataclasses import dataclass

from registry.calc.generation import expected_native_share
from registry.calc.measured_share import ShareCheck, check_share, donor_share_spread
from registry.models import MeasuredShare
from registry.selectors.programme import chromosome_morgans

__all__ = ["ShareLine", "expected_donor_share", "share_lines"]


@dataclass(frozen=True, slots=True)
class ShareLine:
    share: MeasuredShare
    check: ShareCheck


def expected_donor_share(record):
    """The mean donor share of the generation of a tree or lot; None for a word without a share."""
    native = expected_native_share(record.generation) if record.generation else None
    return None if native is None else float(1 - native)


def share_lines(shares):
    """Measured shares (with their tree and lot) beside the expected ones: two queries for any number."""
    shares = list(shares)
    morgans = chromosome_morgans() if shares else []
    return [ShareLine(share, _check(share, morgans)) for share in shares]


def _check(share, morgans):
    generation = (share.tree or share.lot).generation
    spread = donor_share_spread(generation, morgans) if generation else None
    error = float(share.standard_error or 0)
    return check_share(float(share.donor_share), error, expected_donor_share(share.tree or share.lot), spread, share.sample_size)
