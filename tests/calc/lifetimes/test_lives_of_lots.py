"""Lots worked out at once are what they are one by one."""

import numpy as np

from plantings.calc.lifetimes.lives_of_lots import SiteLives, lives_by_site, lot_lives, starts_of_lots
from plantings.calc.survival.survival import Counts


def row(site, planting, lot, place, **counts):
    return [1, site, planting, lot, place, *Counts(planted=10, **counts)]


def test_two_lots_of_a_site_are_added_up():
    """By hand. Lot 0 of planting 0: 8 alive of 10 and 2 dead, then 5 dead and 5 alive. Lot 1 was not looked at in its first year, and has
    one tree taken out by then, which is known up to planting alone: 9 alive at the second look."""
    rows = [row(3, 0, 0, 0, alive=8, dead=2), row(3, 0, 0, 1, alive=5, dead=5), row(3, 0, 1, 1, alive=9, removed_excluded=1)]
    assert starts_of_lots(np.array(rows)).tolist() == [0, 2]
    found = lives_by_site(np.array(rows), (1, 2))[3]
    assert (found.deaths.tolist(), found.at_risk.tolist()) == ([2, 3], [10 + 9, 8 + 9])
    assert found.looks == {(0, 1): [2, 10], (1, 2): [3, 8], (0, 2): [0, 9]}
    assert found.spans == {(0, 1): 2, (1, 2): 3, (0, np.inf): 1, (2, np.inf): 5 + 9}


def test_counts_by_chance_give_what_each_lot_gives():
    """`lot_lives` is the definition. Counts are drawn without regard to sense, so that trees come back in many lots."""
    chance, came_back = np.random.default_rng(1), 0
    for _turn in range(60):
        ages = tuple(sorted(chance.choice(range(1, 9), size=chance.integers(1, 5), replace=False).tolist()))
        rows = [
            [1, place // 4, place // 2, place, number, 10, *chance.integers(0, 4, len(Counts._fields) - 1).tolist()]
            for place in range(chance.integers(1, 12)) for number in range(len(ages)) if chance.random() < 0.8
        ]  # fmt: skip
        alone = {}
        for site, lot in sorted({(one[1], one[3]) for one in rows}):
            of_lot = {ages[one[4]]: Counts._make(one[5:]) for one in rows if one[3] == lot}
            alone.setdefault(site, []).append(lot_lives(of_lot, ages))
        together = lives_by_site(np.array(rows, dtype=np.int64).reshape(-1, 5 + len(Counts._fields)), ages)
        assert together.keys() == alone.keys()
        for site, lots in alone.items():
            assert_added_up(together[site], lots)
            came_back += any(len({since for since, until in one.spans if until < np.inf}) < len(one.spans) - 1 for one in lots)
    assert came_back > 20


def assert_added_up(found: SiteLives, lots):
    assert found.deaths.tolist() == sum(one.deaths for one in lots).tolist()
    assert found.at_risk.tolist() == sum(one.at_risk for one in lots).tolist()
    looks, spans = {}, {}
    for one in lots:
        for look, pair in one.looks.items():
            looks[look] = [a + b for a, b in zip(looks.get(look, [0, 0]), pair, strict=True)]
        for span, trees in one.spans.items():
            spans[span] = spans.get(span, 0) + trees
    assert found.looks == looks
    assert found.spans == {span: trees for span, trees in spans.items() if trees}
