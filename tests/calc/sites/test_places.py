"""Moves of a list of trees: in the end no two trees are at one place."""

from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.sites.places import refused_places

TREES = range(8)
PLACES = st.none() | st.integers(0, 11)


@given(on_file=st.permutations(range(12)), wanted=st.dictionaries(st.sampled_from(TREES), PLACES))
def test_without_the_refused_moves_every_place_has_one_tree(on_file, wanted):
    held = dict(zip(TREES, on_file, strict=False))
    refused = refused_places(held, wanted)
    out = refused.keys() | {tree for waiting in refused.values() for tree in waiting}
    final = [place for place in (held | {tree: place for tree, place in wanted.items() if tree not in out}).values() if place is not None]
    assert len(final) == len(set(final))
    # nobody goes out for nothing: the new place of each is that of a tree that stays, or of an earlier one of the list
    for tree in out:
        assert any(wanted.get(other, held[other]) == wanted[tree] or held[other] == wanted[tree] for other in TREES if other != tree)


@given(st.permutations(TREES))
def test_trees_can_change_places_with_each_other_in_any_way(order):
    assert refused_places(dict(zip(TREES, TREES, strict=True)), dict(zip(TREES, order, strict=True))) == {}
