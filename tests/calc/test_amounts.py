"""Counts with their units. English, no source."""

import pytest

from registry.calc.amounts import amount_words, unit_words


@pytest.mark.parametrize(
    ("count", "unit", "words"),
    [(0, "plants", "0 plants"), (1, "plants", "1 plant"), (-1, "seeds", "-1 seed"), (1204, "seeds", "1,204 seeds")],
)
def test_an_amount_has_its_thousands_apart_and_its_unit_in_the_right_number(count, unit, words):
    assert amount_words(count, unit) == words


@pytest.mark.parametrize(
    ("unit", "one"), [("lots", "lot"), ("taxa", "taxon"), ("people", "person"), ("entries", "entry"), ("pollen pools", "pollen pool")]
)
def test_a_unit_behind_one_is_singular(unit, one):
    assert (unit_words(1, unit), unit_words(2, unit)) == (one, unit)
