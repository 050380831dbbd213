"""Layout of a pedigree. Geometry by hand."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from registry.calc.pedigree.drawing import BOX_HEIGHT, BOX_WIDTH, draw_pedigree


def pair(mother, father):
    return [("mother", mother), ("father", father)]


PARENTS = {"B1": pair("N2", "F1"), "F1": pair("N1", "J"), "B1F2": pair("B1", "B1")}


def test_mothers_are_above_fathers_and_parents_to_the_right():
    drawing = draw_pedigree(PARENTS, "B1", 5)
    at = {box.name: box for box in drawing.boxes}
    assert [box.name for box in drawing.boxes] == ["B1", "N2", "F1", "N1", "J"]
    assert at["N2"].y < at["N1"].y < at["J"].y
    assert at["B1"].x < at["N2"].x == at["F1"].x < at["J"].x
    assert at["F1"].y == (at["N1"].y + at["J"].y) / 2
    assert [(box.role, box.generation) for box in drawing.boxes] == [("", 0), ("mother", 1), ("father", 1), ("mother", 2), ("father", 2)]


def test_an_ancestor_met_again_is_drawn_once_in_full():
    drawing = draw_pedigree(PARENTS, "B1F2", 5)
    both = [box for box in drawing.boxes if box.name == "B1"]
    assert [(box.again, len(box.parents)) for box in both] == [(False, 2), (True, 0)]
    near = draw_pedigree({"x": pair("a", "b"), "a": pair("b", "c"), "b": pair("d", "e")}, "x", 5)
    assert [(box.name, box.generation) for box in near.boxes if box.again] == [("b", 2)]  # in full where it is nearest


def test_a_drawing_ends_after_its_generations_and_says_where():
    drawing = draw_pedigree(PARENTS, "B1", 1)
    assert [(box.name, box.cut) for box in drawing.boxes] == [("B1", False), ("N2", False), ("F1", True)]
    assert drawing.cut
    assert not draw_pedigree(PARENTS, "B1", 2).cut
    assert [box.cut for box in draw_pedigree(PARENTS, "B1", 0).boxes] == [True]


def test_a_founder_is_one_box_and_circles_end():
    alone = draw_pedigree({}, "N1", 5)
    assert (len(alone.boxes), alone.lines, alone.cut) == (1, [], False)
    assert [box.name for box in draw_pedigree({"a": pair("b", "a"), "b": pair("a", "c")}, "a", 9).boxes] == ["a", "b", "a", "c", "a"]
    with pytest.raises(ValueError, match="generations"):
        draw_pedigree({}, "a", -1)


names = st.integers(0, 9)


@given(st.dictionaries(names, st.lists(st.tuples(st.just("part"), names), max_size=4), max_size=10), st.integers(0, 6))
def test_boxes_never_overlap_and_stay_inside(parents, generations):
    drawing = draw_pedigree(parents, 0, generations)
    for one, other in combinations(drawing.boxes, 2):
        assert one.x + BOX_WIDTH < other.x or other.x + BOX_WIDTH < one.x or abs(one.y - other.y) >= BOX_HEIGHT
    for box in drawing.boxes:
        assert 0 <= box.x <= drawing.width - BOX_WIDTH
        assert 0 <= box.y <= drawing.height - BOX_HEIGHT
        assert box.generation <= generations
    full = [box.name for box in drawing.boxes if not box.again]
    assert len(full) == len(set(full))
    assert len(drawing.lines) == len(drawing.boxes) - 1
