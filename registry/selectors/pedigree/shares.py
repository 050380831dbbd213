"""Reads about measured shares: each beside the share its pedigree, or else its generation, leads one to expect."""

from dataclasses import dataclass

from registry.calc.pedigree.generation import NAMED, Generation, expected_native_share
from registry.calc.pedigree.measured_share import ShareCheck, check_share, cross_spread, donor_share_spread, family_spread
from registry.choices import CrossType
from registry.models import MeasuredShare, PedigreeTree
from registry.selectors.pedigree.numbers import expected_donor_shares
from registry.selectors.people.programme import chromosome_morgans

__all__ = ["SHARE_RELATED", "ShareLine", "expected_donor_share", "selfings_of", "share_lines"]

SHARE_RELATED = ("tree__mother", "tree__father", "lot__mother", "lot__father")
_SELFINGS_MAX = 20  # more than any line has; ends a loop in the records


@dataclass(frozen=True, slots=True)
class ShareLine:
    """`assumed` as of `ExpectedDonor`."""

    share: MeasuredShare
    check: ShareCheck
    assumed: bool


def expected_donor_share(record):
    """(the mean donor share a tree or lot is expected to have, whether it is assumed in part as of `ExpectedDonor`).

    By its pedigree where that is fully known, or else by its generation; None where neither says.
    """
    kind = record._meta.model_name
    trees, lots = ([], [record.pk]) if kind == "lot" else ([record.pk], [])
    derived = expected_donor_shares(trees, lots).get(("lot" if kind == "lot" else "tree", record.pk))
    return (_by_generation(record), False) if derived is None else (float(derived.share), derived.assumed)


def _by_generation(record):
    native = expected_native_share(record.generation) if record.generation else None
    return None if native is None else float(1 - native)


def share_lines(shares):
    """Measured shares (read with `SHARE_RELATED`) beside the expected ones: the same queries for any number, one more for each selfing
    in a row."""
    shares = list(shares)
    if not shares:
        return []
    trees, lots = ({getattr(share, f"{kind}_id") for share in shares} - {None} for kind in ("tree", "lot"))
    derived, morgans = expected_donor_shares(trees, lots), chromosome_morgans()
    selfings = selfings_of({share.tree or share.lot for share in shares})
    found = []
    for share in shares:
        donor = derived.get(_key(share))
        check = _check(share, donor and donor.share, selfings[share.tree or share.lot], morgans)
        found.append(ShareLine(share, check, bool(donor and donor.assumed)))
    return found


def _key(share):
    return ("tree", share.tree_id) if share.tree_id else ("lot", share.lot_id)


def _selfed(record):
    return record.mother_id is not None and (
        record.father_id == record.mother_id or (record.cross_type == CrossType.SELF and record.father_id is None)
    )


def selfings_of(records):
    """{tree or lot: how many of its last crosses were selfings, one after the other}: a query for each but the first."""
    found, waiting = dict.fromkeys(records, 0), {}
    for record in found:
        if _selfed(record):
            found[record] = 1
            waiting.setdefault(record.mother_id, []).append(record)
    for _ in range(_SELFINGS_MAX):
        above = {}
        for mother in PedigreeTree.objects.filter(pk__in=waiting).only("mother", "father", "cross_type").order_by() if waiting else ():
            if _selfed(mother):
                for record in waiting[mother.pk]:
                    found[record] += 1
                above.setdefault(mother.mother_id, []).extend(waiting[mother.pk])
        waiting = above
    return found


def _check(share, derived, selfings, morgans):
    record = share.tree or share.lot
    spread = donor_share_spread(record.generation, morgans, selfings) if record.generation else None
    expected = _by_generation(record) if derived is None else float(derived)
    parents = _parents(record, selfings)
    if derived is not None and spread is None:
        spread = cross_spread(parents, morgans, bool(selfings))
    # several samples of one tree are one tree; plants of a lot are taken as one family
    family = 0.0 if spread is None else spread if share.tree_id else family_spread(parents, morgans, bool(selfings))
    return check_share(float(share.donor_share), float(share.standard_error or 0), expected, spread, share.sample_size, family)


def _parents(record, selfings):
    """The generations of both parents; of a record without them, those its own generation comes from."""
    mother, father = record.mother, record.mother if selfings else record.father
    found = [mother and mother.generation, father and father.generation]
    own = record.generation
    if own is None or own.backcrosses is None:
        return [own, own] if own and own.code in NAMED else found
    if own.intercrosses:
        usual = [Generation(own.backcrosses, own.intercrosses - 1)] * 2
    else:
        usual = [
            Generation(None, None, "native"),
            Generation(own.backcrosses - 1, 0) if own.backcrosses else Generation(None, None, "donor"),
        ]
    return usual if None in found else found
