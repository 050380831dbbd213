"""The rows of a page are those of the whole table, and no other row is worked out for them."""

import random

import numpy as np
import pytest

from plantings.calc.survival import rows_by_label
from plantings.calc.survival.rows_by_label import RowsByLabel
from plantings.calc.survival.survival import Counts
from plantings.calc.survival.table import CHECK, DONOR, NATIVE, in_order, row_of_group, survival_table_rows
from plantings.calc.survival.tallies import Tallies, Tally
from plantings.calc.survival.tally_sums import narrowed, plantings_by_site


def some_tallies():
    chance = random.Random(4)
    for number in range(120):
        site, standard = f"S{number % 9}", chance.choice(("", "", NATIVE, DONOR))
        alive, dead = chance.randint(0, 40), chance.randint(0, 20)
        keys = (site, chance.choice("abCD"))
        counts = Counts(planted=alive + dead, alive=alive, dead=dead)
        yield Tally(
            keys, CHECK if standard else "test", site, f"P{number}", f"L{number % 4}", standard, chance.random() < 0.2, True, counts
        )


def test_rows_are_those_of_the_table_and_a_page_works_out_its_own(monkeypatch):
    tallies, worked_out = list(some_tallies()), []

    def noted(*kind):
        worked_out.append(kind[:4])
        return row_of_group(*kind)

    monkeypatch.setattr(rows_by_label, "row_of_group", noted)
    rows = RowsByLabel(tallies, ("test", "check"))
    expected = in_order(survival_table_rows(tallies))
    assert len(rows) == len(expected) > 60 and worked_out == []
    assert rows[20:30] == tuple(expected[20:30])
    assert len(worked_out) == 10
    assert rows == expected and len(worked_out) == len(expected)
    assert list(RowsByLabel(tallies, ("check",))) == [row for row in expected if row.is_check]


@pytest.mark.parametrize("most", [0, 200, 255, 256, 70_000])
def test_narrowed_counts_are_the_same_counts(most):
    found = narrowed(np.array([[0, most], [3, 1]], dtype=np.int32))
    assert found.tolist() == [[0, most], [3, 1]] and found.itemsize == (1 if most < 256 else 2 if most < 65_536 else 4)


def test_plantings_are_counted_once_for_each_site():
    rows = [Tally(("x",), "test", site, code, lot, "", False, True, [0] * 15) for site, code, lot in
            [("S1", "A", "L1"), ("S1", "A", "L2"), ("S1", "B", "L1"), ("S2", "C", "L1")]]  # fmt: skip
    assert plantings_by_site(Tallies.of(rows)) == {"S1": 2, "S2": 1} and plantings_by_site(Tallies.of([])) == {}
