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
from plantings.calc.survival.tallies import Tallies, Tally


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
    digest = hashlib.sha256()
    for age in sorted(by_age):
        tallies = Tallies.of(by_age[age])
        columns, names = [], []
        for codes, labels in (
            (tallies.kind, [*map(repr, tallies.kinds)]), (tallies.site, tallies.sites), (tallies.planting, tallies.plantings),
            (tallies.lot, tallies.lots),
        ):  # fmt: skip
            used = sorted({labels[code] for code in np.unique(codes).tolist()})
            place = {label: number for number, label in enumerate(used)}
            columns.append(np.array([place.get(label, -1) for label in labels], dtype=np.int64)[codes])
            names.append(used)
        rows = np.hstack([np.stack(columns, axis=1), tallies.counts]) if len(tallies) else np.zeros((0, 1), dtype=np.int64)
        digest.update(repr((age, names, rows.shape)).encode())
        digest.update(rows[np.lexsort(rows.T[::-1])].tobytes())
    return digest.hexdigest()


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
        lineages |= {keys[0] for keys, role, *_rest in tallies.kinds_present if role == "test"}
        sites |= {tallies.sites[code] for code in np.unique(tallies.site).tolist()}
        sums += tallies.counts.sum(axis=0)
    counts = Counts._make(sums.tolist())
    return {"lineages": len(lineages), "sites": len(sites), "trees": counts.assessed, "alive": counts.alive}
