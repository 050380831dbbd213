"""Lengths in the unit of a column, and names read by a pattern."""

import pytest

from registry.calc.sheets.lengths import length_in
from registry.calc.sheets.name_patterns import LENGTH_MAX, name_pattern


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "length"),
    [(30.1, "in", "cm", 76.454), (1, "ft", "m", 0.3048), (0.1, "m", "cm", 10.0), (125, "mm", "cm", 12.5)],
)
def test_a_length_is_turned_into_the_unit_of_its_column(value, unit, wanted, length):
    """Inch 25.4 mm and foot 0.3048 m: international yard and pound agreement, 1959."""
    assert length_in(value, unit, wanted) == length


@pytest.mark.parametrize(
    ("pattern", "text", "found"),
    [
        ("{site}_{year}.csv", "West_Virginia_2022.CSV", None),
        ("{site}_{year:number}.csv", "West_Virginia_2022.CSV", {"site": "West_Virginia", "year": "2022"}),
        ("{family}_{garden:letters}_{bed:letters}", "AB_05_MD_D", {"family": "AB_05", "garden": "MD", "bed": "D"}),
        ("{garden:2}{bed:1}", "MDA", {"garden": "MD", "bed": "A"}),
        ("{a}{b}", "xyz", None),
        ("{a}-{b}", "x_y", None),
        ("{a}", "x" * (LENGTH_MAX + 1), None),
    ],
)
def test_a_name_has_one_reading_or_is_refused(pattern, text, found):
    read = name_pattern(pattern)
    if found is None:
        with pytest.raises(ValueError, match="more than one way|is not written as|is longer than"):
            read.read(text)
    else:
        assert read.read(text) == found
