"""Life tables as plain values that can be stored and read back, and what they are made from as a hash and in numbers.

Source
------
Definition of this programme.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import astuple

import numpy as np

from plantings.calc.lifetimes.curves import Step
from plantings.calc.lifetimes.hazards import HazardRatio
from plantings.calc.lifetimes.lineage_lives import LineageLife, Lives
from plantings.calc.lifetimes.rank_tests import LogRank
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.tallies import Tallies, Tally, numbered
from plantings.calc.survival.tally_sums import narrowed


def lives_values(lives: Lives) -> dict:
    """The Lives as what JSON holds."""
    return {"ages": [*lives.ages], "lineages": [_plain(astuple(one)) for one in lives.lineages], "skipped": [*lives.skipped]}


def read_lives(values: dict) -> Lives:
    """The Lives of `lives_values`."""
    return Lives(tuple(values["ages"]), tuple(_life(one) for one in values["lineages"]), tuple(values["skipped"]))


def _life(values):
    label, trees, sites, steps, check, test, early, holm, bh, hazard, gaps, reason, *looks = values
    curves = (tuple(Step(*step) for step in curve) for curve in (steps, check))
    tests = (found and LogRank(tuple(found[0]), tuple(found[1]), *found[2:]) for found in (test, early))
    return LineageLife(label, trees, sites, *curves, *tests, holm, bh, HazardRatio(*hazard), gaps, reason, *looks)


def _plain(value):
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    if isinstance(value, np.generic):
        return value.item()
    return str(value) if isinstance(value, str) else value


def tallies_sha256(by_age: Mapping[int, Sequence[Tally]]) -> str:
    """The SHA-256 of the tallies of each age, whatever order they come in.

    Parameters
    ----------
    by_age : mapping of growing seasons completed to the tallies of that age
    """
    digest, words = hashlib.sha256(), {}  # tallies that were read at once share their kinds
    for age in sorted(by_age):
        tallies = Tallies.of(by_age[age])
        counts = narrowed(np.asarray(tallies.counts))
        about, columns, order = tallies.frame.once("in order of labels", lambda tallies=tallies: _in_order_of_labels(tallies, words))
        order = np.lexsort([*counts.T[::-1], *columns[::-1]]) if order is None else order
        digest.update(repr((age, about, counts.shape, counts.dtype.str)).encode())
        digest.update(counts[order].tobytes())
    return digest.hexdigest()


def _in_order_of_labels(tallies, words):
    """(a digest of the labels of tallies in their order, their columns as numbers in the order of labels, the places of the rows in that
    order); None for the places where rows are alike, so that their counts tell which comes first."""
    kinds = words.setdefault(id(tallies.kinds), (tallies.kinds, [*map(repr, tallies.kinds)]))[1]
    columns, names = [], []
    for codes, labels in (
        (tallies.kind, kinds),
        (tallies.site, tallies.sites),
        (tallies.planting, tallies.plantings),
        (tallies.lot, tallies.lots),
    ):
        present = numbered(codes)[0].tolist()
        used = sorted({labels[code] for code in present})
        place = {label: number for number, label in enumerate(used)}
        of_code = np.zeros(len(labels), dtype=np.int64)
        of_code[present] = [place[labels[code]] for code in present]
        columns.append(of_code[codes].astype(np.int32))
        names.append(used)
    code = np.zeros(len(tallies), dtype=np.int64)
    for column, used in zip(columns, names, strict=True):
        code = code * max(len(used), 1) + column
    order = np.argsort(code)
    rows = np.stack(columns, axis=1)[order] if len(tallies) else np.zeros((0, 4), dtype=np.int32)
    alike = len(code) and (np.diff(code[order]) == 0).any()
    return hashlib.sha256(repr(names).encode() + rows.tobytes()).hexdigest(), columns, None if alike else order


def about_tallies(by_age: Mapping[int, Sequence[Tally]]) -> dict[str, int]:
    """What they are of, in numbers: to say what changed since earlier ones.

    Parameters
    ----------
    by_age : mapping of growing seasons completed to the tallies of that age

    Returns
    -------
    dict of int
        Lineages, sites, and trees assessed and alive, added up over the ages.
    """
    lineages, sites, sums = set(), set(), np.zeros(len(Counts._fields), dtype=np.int64)
    for tallies in map(Tallies.of, by_age.values()):
        lineages |= tallies.frame.once(
            "lineages", lambda tallies=tallies: {keys[0] for keys, role, *_rest in tallies.kinds_present if role == "test"}
        )
        sites |= tallies.frame.once("sites", lambda tallies=tallies: {tallies.sites[code] for code in numbered(tallies.site)[0].tolist()})
        sums += tallies.counts.sum(axis=0)
    counts = Counts._make(sums.tolist())
    return {"lineages": len(lineages), "sites": len(sites), "trees": counts.assessed, "alive": counts.alive}
