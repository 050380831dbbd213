"""The parts of a long walk hold every tree once, in order, and no part is too large. The cuts are worked out by hand."""

from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.walk_parts import walk_parts


def test_small_blocks_share_a_part_and_a_large_one_is_cut():
    blocks = ["A"] * 3 + ["B"] * 2 + ["C"] * 7 + [""]
    found = [(part.first, part.last, part.piece, part.stop - part.start) for part in walk_parts(blocks, 5)]
    assert found == [("A", "B", 0, 5), ("C", "C", 1, 5), ("C", "C", 2, 2), ("", "", 0, 1)]


@given(st.lists(st.sampled_from(["", "A", "B", "C"]), max_size=60), st.integers(1, 12))
def test_parts_hold_every_tree_once_and_have_names_of_their_own(blocks, most):
    parts = walk_parts(blocks, most)
    assert [place for part in parts for place in range(part.start, part.stop)] == list(range(len(blocks)))
    assert all(0 < part.stop - part.start <= most for part in parts)
    assert len({part.key for part in parts}) == len(parts)
