"""Measurements of a programme's own: their classes as people write them, and their values as records hold them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from plantings.calc.census.measurements import CANKER, HEIGHT, value_of
from plantings.calc.census.own_measurements import (
    ClassesFault,
    classes_text,
    own_measurement,
    own_value,
    read_classes,
    row_values,
)
from plantings.calc.census.rows import SeenRow
from plantings.calc.census.rules import check_row

ABOUT = {"version": 1, "taken": "From the south."}
CROWN = own_measurement(code="crown", name="Crown width", unit="cm", low=0, high=900, **ABOUT)
SHOOTS = own_measurement(code="shoots", name="Shoots", low=0, high=50, whole=True, **ABOUT)
VIGOUR = own_measurement(code="vigour", name="Vigour", classes=[("poor", "Poor"), ("good", "Good")], **ABOUT)


@pytest.mark.parametrize(
    ("text", "words"),
    [("none", "is not a class"), ("0 = none", "at least 2"), ("0 = a; 0 = b", "must rise"), ("0 = a; few = b", "one kind"),
     ("few = a; few = b", "same code"), ("a_very_long_code = a; b = b", "longer than 10"), ("A = a; b = b", "is not a class")],
)  # fmt: skip
def test_classes_that_cannot_be_used_are_refused_in_words(text, words):
    with pytest.raises(ClassesFault, match=words):
        read_classes(text)


@given(st.lists(st.integers(0, 999), min_size=2, max_size=20, unique=True))
def test_written_classes_are_read_back_the_same(numbers):
    classes = read_classes("\n".join(f"{number}=class {number}" for number in sorted(numbers)))
    assert read_classes(classes_text(classes)) == classes and [code for code, _, _ in classes] == sorted(numbers)


@pytest.mark.parametrize(
    ("item", "value", "held"),
    [(CROWN, 3, 3.0), (CROWN, True, None), (CROWN, float("inf"), None), (CROWN, "3", None), (SHOOTS, 3.0, 3), (SHOOTS, 3.5, None),
     (VIGOUR, "good", "good"), (VIGOUR, "", None), (VIGOUR, 1, None)],
)  # fmt: skip
def test_a_value_is_held_in_the_kind_of_its_measurement(item, value, held):
    found = own_value(item, value)
    assert (found, type(found)) == (held, type(held))


def test_a_row_has_columns_of_the_table_and_own_values_apart():
    row = SeenRow(status="A", observed_on=None, **row_values((HEIGHT, CROWN, VIGOUR), {"height_cm": 90, "crown_v1": 40, "vigour_v1": ""}))
    assert [value_of(row, item) for item in (HEIGHT, CROWN, VIGOUR)] == [90, 40.0, None]


def test_what_a_protocol_leaves_out_is_an_error_own_or_not():
    row = SeenRow(status="NV", observed_on=None, canker_class=1, own_values={"crown_v1": 40.0})
    asked = [found.field for found in check_row(row, asked=(HEIGHT,)) if "does not ask" in found.message]
    assert asked == [CANKER.field, CROWN.field]
    assert [found.message for found in check_row(row, asked=(CANKER, CROWN)) if found.severity == "error"] == [
        "A tree recorded Not visited (NV) cannot have a measurement. Check the status or clear the reading."
    ]
