"""Counts with their units. English, no source."""

import pytest

from registry.calc.shared.screen import amount_words, number_words, unit_words


@pytest.mark.parametrize(
    ("count", "unit", "words"),
    [(0, "plants", "0 plants"), (1, "plants", "1 plant"), (-1, "seeds", "-1 seed"), (1204, "seeds", "1,204 seeds")],
)
def test_amounts_have_thousands_separators_and_plural_units(count, unit, words):
    assert amount_words(count, unit) == words


@pytest.mark.parametrize(
    ("unit", "one"), [("lots", "lot"), ("taxa", "taxon"), ("people", "person"), ("entries", "entry"), ("pollen pools", "pollen pool")]
)
def test_a_unit_behind_one_is_singular(unit, one):
    assert (unit_words(1, unit), unit_words(2, unit)) == (one, unit)


@pytest.mark.parametrize(
    ("value", "words"),
    [(0, "0"), (8, "8"), (16384.0, "16,384"), (50_000.4, "50,000"), (1_234_567, "1,234,567"), (290 / 3, "96.67"), (0.5, "0.5"),
     (0.00001, "0.00001"), (9.9999, "10"), (1e-303, "0")],
)  # fmt: skip
def test_numbers_have_separators_and_no_exponent(value, words):
    assert number_words(value) == words


def test_more_significant_figures_can_be_given():
    assert number_words(1234.56, 6) == "1,234.56"
