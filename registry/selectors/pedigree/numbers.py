"""What the pedigree says of a tree or a lot in numbers: expected shares of founders and species, inbreeding, depth."""

from contextlib import suppress
from fractions import Fraction
from typing import NamedTuple

from registry.calc.pedigree.expected_shares import shares_of_parts
from registry.calc.pedigree.kinship import expected_coancestry
from registry.calc.pedigree.pedigree import PedigreeError
from registry.selectors.pedigree.lot_reading import LotReading, parents_of_lot
from registry.selectors.pedigree.reading import ASSUMED, KINSHIP_MAX, PedigreeReading, loops_in_words, pedigree_of_rows
from registry.selectors.pedigree.tree_facts import ancestor_rows

__all__ = [
    "ASSUMED_WORDS",
    "ExpectedDonor",
    "ancestor_pedigree",
    "coancestry_through_pools",
    "expected_donor_shares",
    "harvest_parts",
    "lot_numbers",
    "tree_numbers",
]


ASSUMED_WORDS = "unknown parents of native trees count as native, a setting of the programme"


class ExpectedDonor(NamedTuple):
    """The expected donor share; `assumed` where an unknown parent of a native tree counts as native, by the programme's setting."""

    share: Fraction
    assumed: bool


def tree_numbers(tree):
    """PedigreeNumbers of a tree, through its ancestors only: a query for each generation, two where pools are met, one for names."""
    return PedigreeReading(trees=[tree.pk]).numbers(tree.pk)


def lot_numbers(lot):
    """PedigreeNumbers of a lot, through its mother and father, pollen pool, parent lot or components by their counts.

    Two queries for each step from lot to lot, then as for a tree.
    """
    lots = LotReading([lot.pk])
    return PedigreeReading(trees=lots.parents(), lots=lots).numbers(("lot", lot.pk))


def expected_donor_shares(trees, lots):
    """What the pedigree leads one to expect: {("tree" or "lot", key): ExpectedDonor} of trees and lots whose parents are all known.

    A tree without parents on record, or with unknown ancestors, is not in it. A query for each generation and each step from lot
    to lot, whatever the number.
    """
    lots_up = LotReading(lots)
    reading = PedigreeReading(trees={*trees, *lots_up.parents()}, lots=lots_up)
    found = {}
    for kind, keys in (("tree", trees), ("lot", lots)):
        for key in keys:
            start = key if kind == "tree" else ("lot", key)
            if reading.parts.get(start):
                with suppress(ValueError):  # a loop: its own page says so
                    shares = shares_of_parts(reading.parts, start)
                    native, donor = reading.native_and_donor(shares)
                    if native + donor == 1:
                        found[kind, key] = ExpectedDonor(donor, ASSUMED in shares)
    return found


def harvest_parts(lot):
    """[(mother, father, pool, share of the lot)] of the harvests a lot of any origin was made of, and the share that has no mother in the
    book. Two queries for each step from lot to lot."""
    lots = LotReading([lot.pk])
    found, unknown = [], Fraction(0)
    for key, share in lots.weights(lot.pk).items():
        row = lots.rows[key[1]]
        if row.mother is None:
            unknown += share
        else:
            found.append((*parents_of_lot(row), share))
    return found, unknown


def ancestor_pedigree(keys):
    """(Pedigree of trees and their ancestors by mother and father, whether one of them came of a pollen pool instead of a father).

    Names are the keys as text. A query a generation.

    Raises ValueError, in words and with the codes, when the parents on record form a loop.
    """
    rows, _ = ancestor_rows(keys, through_pools=False)
    try:
        return pedigree_of_rows(rows), any(row.pool and not row.father for row in rows.values())
    except PedigreeError:
        raise ValueError(loops_in_words(rows, {})) from None


def coancestry_through_pools(keys):
    """(coancestry of trees (keys) with a pollen pool as its expected father, those of which a parent is neither a tree nor a pool).

    None where no ancestor came of a pool, or there are too many ancestors.
    """
    reading = PedigreeReading(trees=keys)
    if len(reading.rows) > KINSHIP_MAX or not reading.has_pools():
        return None
    trees = reading.gametes()
    with suppress(ValueError):  # a loop through a pool: the page of one of its trees says so
        unknown = {key for key in keys if key not in trees or trees[key].mother is None or not trees[key].fathers}
        return expected_coancestry(trees, keys), unknown
    return None
