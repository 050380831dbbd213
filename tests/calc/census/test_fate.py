"""The fate of a tree at each round. The cases follow the programme's printed definition: common practice, no source."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plantings.calc.census.fate import ENDED as ENDED_BY_RECORD
from plantings.calc.census.fate import Fate, Status, fate_history
from plantings.calc.census.planting_fates import fate_tally, fates, histories

SHORT = {
    Fate.ALIVE: "a",
    Fate.ALIVE_RESPROUT: "r",
    Fate.DEAD: "d",
    Fate.PRESUMED_DEAD: "p",
    Fate.NOT_FOUND: "f",
    Fate.UNCLEAR: "u",
    Fate.NOT_LOCATED: "l",
    Fate.NOT_VISITED: "v",
    Fate.REMOVED: "m",
    Fate.REMOVED_EXCLUDED: "x",
}
SEEN = {Status.A, Status.AR}
ALIVE = (Fate.ALIVE, Fate.ALIVE_RESPROUT)
ENDED = (Fate.DEAD, Fate.PRESUMED_DEAD, Fate.REMOVED, Fate.REMOVED_EXCLUDED)

history = st.lists(st.sampled_from(Status), max_size=12)
planting = st.integers(0, 8).flatmap(
    lambda rounds: st.lists(st.lists(st.sampled_from(Status), min_size=rounds, max_size=rounds), max_size=30).map(
        lambda trees: np.array(trees, np.uint8).reshape(len(trees), rounds)
    )
)


def read(text):
    """Records written as words, "." for a round without a record."""
    return [Status.NONE if word == "." else Status[word] for word in text.split()]


CASES = [
    # Seen alive at this or a later round settles whatever was recorded before.
    ("A", "a"),
    ("A A A", "aaa"),
    ("D A", "aa"),
    ("NF NF A", "aaa"),
    ("RM RX NL NV . A", "aaaaaa"),
    # By resprout: this record, or failing that the nearest later sighting.
    ("AR", "r"),
    ("A AR", "ar"),
    ("AR A", "ra"),
    ("A D AR", "arr"),
    ("A NV A AR", "aaar"),
    ("NV AR A", "rra"),
    # A dead original stays dead.
    ("A D", "ad"),
    ("A D NV D", "addd"),
    ("A D . NL NF", "adddd"),
    ("D", "d"),
    ("A NF D", "afd"),
    ("A NL NV D", "alvd"),
    # Removed or dead: whichever came first after the last sighting.
    ("A RM", "am"),
    ("A RX", "ax"),
    ("A D RX", "add"),
    ("A RX D", "axx"),
    ("A RM RX", "amm"),
    ("A RX RM NF NF", "axxxx"),
    ("RX A D", "aad"),
    ("D A RX", "aax"),
    # Not found twice running.
    ("A NF", "af"),
    ("A NF NF", "app"),
    ("A NF NF NV", "appp"),
    ("NF NF NL", "ppp"),
    ("A NF NL NF", "aflf"),
    ("A NF NV NF", "afvf"),
    ("A NF . NF", "afvf"),
    ("A NF NV NF NF", "afvpp"),
    ("NF A NF", "aaf"),
    # A pair does not reach across a sighting, and a firmer record found later takes over from there.
    ("NF A NF NF", "aapp"),
    ("A NF NF D", "appd"),
    # Cleared away later, a tree presumed dead stays so, as one seen dead does.
    ("A NF NF RX", "appp"),
    ("A NF NF NV RM", "apppp"),
    ("A NF RX", "afx"),
    # Seen in an unclear state: never dead by it, and it ends and undoes a run of not found.
    ("A SU", "au"),
    ("A NF SU NF", "afuf"),
    ("A NF NF SU", "affu"),
    ("A NF NF SU RX", "affux"),
    ("A NF NF RX SU", "affxx"),
    ("A SU NF NF", "aupp"),
    ("A D SU", "add"),
    ("A SU A", "aaa"),
    # Nobody looked: never dead by rule.
    (".", "v"),
    ("NV NV NV", "vvv"),
    ("A NL NL NL", "alll"),
    ("A NV . NL", "avvl"),
]


@pytest.mark.parametrize(("records", "expected"), CASES)
def test_a_history_has_the_fate_the_definition_gives_it(records, expected):
    assert "".join(SHORT[fate] for fate in fate_history(read(records))) == expected


@pytest.mark.parametrize(("records", "expected"), CASES)
def test_a_planting_of_one_tree_has_that_fate_too(records, expected):
    computed = fates(np.array([read(records)], np.uint8))
    assert "".join(SHORT[fate] for fate in computed[0].tolist()) == expected


@settings(max_examples=400)
@given(planting)
def test_a_whole_planting_has_the_fate_of_each_of_its_trees(status):
    computed = fates(status)
    assert computed.shape == status.shape
    assert computed.dtype == np.uint8
    assert computed.tolist() == [fate_history(tree) for tree in status.tolist()]


@given(planting)
def test_what_was_known_then_is_the_fate_without_later_rounds(status):
    then = histories(status).fate_then
    assert then.tolist() == [[fate_history(tree[: number + 1])[-1] for number in range(len(tree))] for tree in status.tolist()]


@given(planting)
def test_the_record_that_ended_a_tree_says_so(status):
    found = histories(status)
    recorded = np.isin(found.fate, list(ENDED_BY_RECORD.values()))
    assert ((found.ended_by >= 0) == recorded).all()
    for tree, number in np.argwhere(recorded):
        assert ENDED_BY_RECORD[Status(status[tree, found.ended_by[tree, number]])] == found.fate[tree, number]
        assert found.ended_by[tree, number] <= number


@given(history)
def test_every_round_has_exactly_one_fate(records):
    settled = fate_history(records)
    assert len(settled) == len(records)
    assert set(settled) <= set(Fate)


@given(planting)
def test_the_number_alive_never_rises_from_one_round_to_the_next(status):
    alive = np.isin(fates(status), ALIVE).sum(axis=0)
    assert (np.diff(alive) <= 0).all()


@given(planting)
def test_a_tree_once_dead_presumed_dead_or_removed_stays_so(status):
    ended = np.isin(fates(status), ENDED)
    assert not (ended[:, :-1] & ~ended[:, 1:]).any()


@given(st.lists(st.sampled_from([Status.NONE, Status.NV, Status.NL, Status.A, Status.AR]), max_size=12))
def test_not_visited_and_not_located_alone_never_end_a_tree(records):
    assert not set(fate_history(records)) & set(ENDED)


@given(history)
def test_presumed_dead_needs_two_adjacent_rounds_not_found(records):
    pair = (Status.NF, Status.NF) in pairwise(records)
    assert pair or Fate.PRESUMED_DEAD not in fate_history(records)


@given(history, st.sampled_from(sorted(SEEN)))
def test_a_sighting_at_the_last_round_makes_the_whole_history_alive(records, sighting):
    assert set(fate_history([*records, sighting])) <= set(ALIVE)


@given(history)
def test_a_later_visit_that_saw_nothing_changes_no_earlier_fate(records):
    assert fate_history([*records, Status.NV])[:-1] == fate_history(records)


@given(history)
def test_no_record_counts_as_not_visited(records):
    written = [Status.NV if record is Status.NONE else record for record in records]
    assert fate_history(written) == fate_history(records)


@pytest.mark.parametrize("shape", [(0, 0), (0, 3), (3, 0)])
def test_a_planting_without_trees_or_rounds_has_no_fates(shape):
    assert fates(np.zeros(shape, np.uint8)).shape == shape


def test_the_records_handed_in_are_left_as_they_were():
    status = np.array([[Status.A, Status.NF, Status.NF]], np.uint8)
    before = status.copy()
    fates(status)
    assert (status == before).all()


def test_a_code_that_is_not_a_status_is_counted_and_located():
    status = np.array([[1, 3], [10, 1], [1, 200]], np.uint8)
    with pytest.raises(ValueError, match=r"2 cell\(s\) hold no Status code, first in tree row 1, round column 0: 10"):
        fates(status)
    with pytest.raises(ValueError, match="row 0, round column 0: 10. Codes run from 0 to 9$"):
        fates(np.array([[10]], np.uint8))
    with pytest.raises(ValueError, match="10 is not a valid Status"):
        fate_history([1, 10])


@pytest.mark.parametrize(
    ("status", "named"),
    [
        (np.zeros(3, np.uint8), "1 dimension"),
        (np.zeros((2, 2), np.int64), "int64"),
        (np.zeros((2, 2), float), "float64"),
    ],
)
def test_an_array_of_the_wrong_form_is_refused(status, named):
    with pytest.raises(ValueError, match=named):
        fates(status)


@given(planting, st.data())
def test_a_tally_equals_a_count_tree_by_tree(status, data):
    groups = 3
    group = np.array(data.draw(st.lists(st.integers(0, groups - 1), min_size=len(status), max_size=len(status))), np.int64)
    tally = fate_tally(fates(status), group, groups)
    expected = np.zeros((groups, status.shape[1], 11), int)
    for tree, records in enumerate(status.tolist()):
        for number, fate in enumerate(fate_history(records)):
            expected[group[tree], number, fate] += 1
    assert tally.tolist() == expected.tolist()


@pytest.mark.parametrize(
    ("group", "named"),
    [([0], "one group number for each of the 2 trees"), ([0, 2], "must lie in 0 to 1"), ([-1, 0], "must lie in 0 to 1")],
)
def test_a_tally_refuses_groups_that_do_not_fit(group, named):
    with pytest.raises(ValueError, match=named):
        fate_tally(np.ones((2, 1), np.uint8), np.array(group), 2)
