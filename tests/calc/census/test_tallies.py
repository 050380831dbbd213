"""Tallies of groups of trees: counted tree by tree from the definition in words, and sums over trees."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.fate import ENDED, Fate, Status, fate_history
from plantings.calc.census.planting_fates import histories
from plantings.calc.census.tallies import GroupTallies, TreeRecords, counts_of_groups, group_tallies
from plantings.calc.survival.survival import Counts

GROUPS, ROUNDS, CAUSES = 3, 4, 3
CELL = st.tuples(st.sampled_from(list(Status)), st.integers(-1, 4), st.integers(0, CAUSES - 1))
TREE = st.tuples(st.integers(-1, GROUPS - 1), st.lists(CELL, min_size=ROUNDS, max_size=ROUNDS))


def tallied(trees):
    cells = np.array([cells for _, cells in trees], np.int16).reshape(len(trees), ROUNDS, 3)
    records = TreeRecords(*(cells[:, :, place].astype(kind) for place, kind in enumerate((np.uint8, np.int8, np.uint8))))
    group = np.array([group for group, _ in trees], np.int64)
    return group_tallies(records, histories(records.status), group, GROUPS, CAUSES)


@given(st.lists(TREE, max_size=6))
def test_every_tree_counts_once_in_its_group_as_the_definition_says(trees):
    fates, causes, looked, cankered = Counter(), Counter(), Counter(), Counter()
    for group, cells in trees:
        if group < 0:
            continue
        statuses = [status for status, _, _ in cells]
        for number, fate in enumerate(fate_history(statuses)):
            fates[group, number, fate] += 1
            looked[group, number] += cells[number][1] >= 0
            cankered[group, number] += cells[number][1] > 0
            if fate in ENDED.values():
                seen = [place for place, status in enumerate(statuses) if status in {Status.A, Status.AR}]
                first = next(place for place in range(seen[-1] + 1 if seen else 0, number + 1) if statuses[place] in ENDED)
                causes[group, number, cells[first][2]] += 1
    found = tallied(trees)
    assert {(*key, Fate(fate)): count for *key, fate, count in nonzero(found.fate)} == fates
    assert {tuple(key): count for *key, count in nonzero(found.causes)} == causes
    assert {tuple(key): count for *key, count in nonzero(found.canker_assessed)} == +looked
    assert {tuple(key): count for *key, count in nonzero(found.cankered)} == +cankered


def nonzero(array):
    return [(*place, int(array[tuple(place)])) for place in np.argwhere(array).tolist()]


@given(st.lists(TREE, max_size=5), st.lists(TREE, max_size=5))
def test_tallies_of_all_less_those_of_some_are_those_of_the_rest(some, rest):
    difference = tallied(some + rest).less(tallied(some))
    assert all(np.array_equal(mine, theirs) for mine, theirs in zip(difference, tallied(rest), strict=True))
    assert counts_of_groups(difference) == counts_of_groups(tallied(rest))


def test_counts_name_the_groups_and_rounds_that_have_trees():
    found = counts_of_groups(tallied([(1, [(Status.A, 2, 0), (Status.D, -1, 1), (Status.NONE, -1, 0), (Status.NONE, -1, 0)])]))
    dead = Counts(planted=1, dead=1, assessed_then=1)
    alive = Counts(planted=1, alive=1, alive_then=1, assessed_then=1, canker_assessed=1, cankered=1)
    assert found == {(1, 0): alive, (1, 1): dead, (1, 2): dead, (1, 3): dead}


def test_a_group_for_each_tree_is_asked_for():
    records = TreeRecords(*(np.zeros((2, 1), kind) for kind in (np.uint8, np.int8, np.uint8)))
    with pytest.raises(ValueError, match="give one group number for each of the 2 trees"):
        group_tallies(records, histories(records.status), np.array([0]), 1, 1)


def test_no_tree_and_no_round_give_empty_tallies():
    records = TreeRecords(*(np.zeros((0, 0), kind) for kind in (np.uint8, np.int8, np.uint8)))
    found = group_tallies(records, histories(records.status), np.zeros(0, np.int64), 2, 1)
    assert isinstance(found, GroupTallies)
    assert counts_of_groups(found) == {}
