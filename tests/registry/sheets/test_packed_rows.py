"""Rows of a long sheet, packed: they read as the list they were made from, which gives every expected value."""

import datetime

import pytest

from registry.imports.shared import packed_rows
from registry.imports.shared.packed_rows import PackedRows


@pytest.fixture
def long(monkeypatch):
    monkeypatch.setattr(packed_rows, "_PLAIN_MOST", 12)
    monkeypatch.setattr(packed_rows, "_BLOCK", 4)
    rows = [(number, f"tag {number}", datetime.date(2019, 9, 1 + number), None, 0.5, "") for number in range(23)]
    packed = PackedRows()
    for row in rows:
        packed.append(row)
    return rows, packed


def test_packed_rows_read_as_the_list_they_came_from(long):
    rows, packed = long
    assert packed.plain() is packed
    assert len(packed) == 23 and list(packed) == rows and packed[:] == rows
    assert [packed[place] for place in (0, 3, 4, 22, -1, -23)] == [rows[place] for place in (0, 3, 4, 22, -1, -23)]
    assert packed[5:21:3] == rows[5:21:3]
    places = [22, 0, 7, 6, 15, 16, 7]
    assert list(packed.at(places)) == [rows[place] for place in places]
    with pytest.raises(IndexError):
        packed[23]


def test_two_readers_do_not_disturb_each_other(long):
    rows, packed = long
    assert list(zip(packed, packed.at(reversed(range(23))), strict=True)) == list(zip(rows, reversed(rows), strict=True))


def test_the_rows_of_a_short_sheet_stay_a_list():
    packed = PackedRows()
    packed.append((1,))
    assert packed.plain() == [(1,)] and type(packed.plain()) is list
