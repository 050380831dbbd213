"""The order in which a crew walks."""

from plantings.calc.sites.walk import walk_numbers

TWO_ROWS = [("1", 1, 1), ("1", 1, 2), ("1", 2, 1), ("1", 2, 2)]


def test_a_serpentine_walk_comes_back_along_the_second_row():
    assert walk_numbers(TWO_ROWS) == [1, 2, 4, 3]
    assert walk_numbers(TWO_ROWS, serpentine=False) == [1, 2, 3, 4]


def test_blocks_go_by_number_and_trees_without_a_place_come_last():
    assert walk_numbers([("10", 1, 1), ("2", None, None), ("2", 1, 1)]) == [3, 2, 1]
