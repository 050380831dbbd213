"""Reads about measured shares: each beside the share its pedigree, or else its generation, leads one to expect."""

from dataclasses import dataclass

from registry.calc.pedigree.generation import Generation, expected_native_share
from registry.calc.pedigree.measured_share import ShareCheck, check_share, cross_spread, donor_share_spread
from registry.models import Lot, MeasuredShare, PedigreeTree
from registry.selectors.identity.descent import linked
from registry.selectors.pedigree.numbers import expected_donor_shares
from registry.selectors.people.programme import chromosome_morgans

__all__ = ["ShareLine", "expected_donor_share", "share_lines"]


@dataclass(frozen=True, slots=True)
class ShareLine:
    share: MeasuredShare
    check: ShareCheck


def expected_donor_share(record):
    """The mean donor share a tree or lot is expected to have: by its pedigree where that is fully known, or else by its generation.

    None where neither says.
    """
    kind = record._meta.model_name
    trees, lots = ([], [record.pk]) if kind == "lot" else ([record.pk], [])
    derived = expected_donor_shares(trees, lots).get(("lot" if kind == "lot" else "tree", record.pk))
    return _by_generation(record) if derived is None else float(derived)


def _by_generation(record):
    native = expected_native_share(record.generation) if record.generation else None
    return None if native is None else float(1 - native)


def share_lines(shares):
    """Measured shares (with their tree and lot) beside the expected ones: the same queries for any number."""
    shares = list(shares)
    if not shares:
        return []
    trees, lots = ({getattr(share, f"{kind}_id") for share in shares} - {None} for kind in ("tree", "lot"))
    derived, morgans = expected_donor_shares(trees, lots), chromosome_morgans()
    crosses = _crosses({_key(share) for share in shares if not (share.tree or share.lot).generation} & derived.keys())
    return [ShareLine(share, _check(share, derived.get(_key(share)), crosses.get(_key(share)), morgans)) for share in shares]


def _key(share):
    return ("tree", share.tree_id) if share.tree_id else ("lot", share.lot_id)


def _crosses(keys):
    """{("tree" or "lot", key): [generation of the mother, of the father]}, None for one that is not known or states none."""
    fields = [f"{parent}__{name}" for parent in ("mother", "father") for name in ("backcrosses", "intercrosses", "generation_other")]
    found = {}
    for kind, model in (("tree", PedigreeTree), ("lot", Lot)):
        for pk, *stated in linked(model.objects, "pk", {key for of, key in keys if of == kind}, "pk", *fields):
            found[kind, pk] = [_generation(*stated[:3]), _generation(*stated[3:])]
    return found


def _generation(backcrosses, intercrosses, word):
    return Generation(backcrosses, intercrosses, word) if backcrosses is not None or word else None


def _check(share, derived, cross, morgans):
    record = share.tree or share.lot
    spread = donor_share_spread(record.generation, morgans) if record.generation else None
    expected = _by_generation(record) if derived is None else float(derived)
    if derived is not None and spread is None:
        spread = cross_spread(cross or (None, None), morgans)
    return check_share(float(share.donor_share), float(share.standard_error or 0), expected, spread, share.sample_size)
