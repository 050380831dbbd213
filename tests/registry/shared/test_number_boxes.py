"""Numbers typed into text boxes, and moments written out of tables."""

import datetime

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from plantings.forms.census_boxes import CountField, MeasureField
from registry.forms.shared.fields import ExactNumberField, NumberField, WholeNumberField
from registry.selectors.people.programme import parse_setting
from registry.views.shared.tables import as_cell


@pytest.mark.parametrize(
    "field", [WholeNumberField(), NumberField(), ExactNumberField(), CountField(), MeasureField(unit="cm", example="142")]
)
def test_a_number_with_a_line_in_it_is_not_a_number(field):
    # Python itself reads an underscore between digits (PEP 515)
    assert field.clean("10") == 10
    with pytest.raises(ValidationError):
        field.clean("1_0")


@pytest.mark.parametrize("key", ["mothers_per_line", "status_number"])
def test_a_setting_with_a_line_in_it_is_not_a_number(key):
    assert parse_setting(key, "12") == 12
    with pytest.raises(ValueError, match="“1_2” is not"):
        parse_setting(key, "1_2")


def test_table_times_use_the_programme_time_zone():
    # 02:30 UTC on 25 Nov is still 21:30 on 24 Nov in New York, five hours behind (IANA time zone database, America/New_York)
    moment = datetime.datetime(2026, 11, 25, 2, 30, tzinfo=datetime.UTC)
    with timezone.override("America/New_York"):
        assert as_cell(moment) == "2026-11-24T21:30:00-05:00"
    assert as_cell(datetime.date(2026, 11, 25)) == "2026-11-25"
