"""Keys of many records as ranges, and the mark of a row of a rest."""

from hypothesis import given
from hypothesis import strategies as st

from registry.calc.sheets.key_ranges import in_ranges, key_ranges, keys_in
from registry.calc.sheets.rest_marks import read_rest_mark, rest_mark


@given(st.lists(st.integers(1, 40)))
def test_ranges_hold_the_keys_they_were_made_of(keys):
    ranges = key_ranges(keys)
    assert list(keys_in(ranges)) == sorted(set(keys)) == [key for key in range(42) if in_ranges(ranges, key)]
    assert all(first[1] + 1 < second[0] for first, second in zip(ranges, ranges[1:], strict=False))


@given(st.integers(1, 10**9), st.integers(1, 10**6))
def test_a_mark_is_read_as_it_was_written(load, row):
    assert read_rest_mark(f"{rest_mark(load, row)}: Status: is blank") == (load, row)
    assert read_rest_mark(f"see {rest_mark(load, row)}") is None
