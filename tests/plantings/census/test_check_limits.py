"""The limits of the checks on arrival are settings of the programme."""

import datetime

import pytest
from django.core.exceptions import ValidationError

from plantings.calc.census.limits import LIMIT_NAMES, LIMITS
from plantings.selectors.census.limits import check_limits
from plantings.services.census.checks import second_looks
from registry.choices import ProgrammeKey
from registry.selectors.people.programme import DEFAULTS, settings_of
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db


def set_to(key, value):
    programme_setting_save(actor=factories.person(), key=key, value=value, owner="The lead", set_on=datetime.date(2026, 1, 15))


def test_without_settings_the_defaults_of_the_checks_hold():
    assert check_limits() == LIMITS
    assert {f"check_{name}" for name in LIMIT_NAMES} == {key for key in DEFAULTS if key.startswith("check_")}


def test_several_settings_are_read_in_one_query(django_assert_num_queries):
    with django_assert_num_queries(1):
        assert settings_of([ProgrammeKey.CHECK_WINDOW, ProgrammeKey.RECEIPT_DAYS]) == {"check_window_days": 21, "receipt_days": 14}


def test_a_limit_of_the_programme_changes_what_is_asked_about():
    planting = factories.planting()
    [tree] = factories.trees(planting, count=1)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, {tree: "A"}, height_cm=100)
    factories.observe(second, {tree: "A"}, height_cm=192)
    records = tree.observations.filter(round=second)
    assert second_looks(second, records) == {}
    set_to("check_height_gain_cm", "90")
    assert check_limits().height_gain_cm == 90
    assert "more than 90 cm a year" in second_looks(second, records)[tree.pk][0].message


def test_a_stem_that_leaps_is_asked_about_while_typing():
    """12 mm and 136 more is 12.3 times as thick: near no ratio of units. The limit is the programme's own, 30 mm at first."""
    planting = factories.planting()
    [tree] = factories.trees(planting, count=1)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, {tree: "A"}, diameter_mm=12)
    factories.observe(second, {tree: "A"}, diameter_mm=148)
    records = tree.observations.filter(round=second)
    assert "more than 30 mm a year" in second_looks(second, records)[tree.pk][0].message
    set_to("check_diameter_gain_mm", "140")
    assert second_looks(second, records) == {}


def test_a_share_above_all_is_refused():
    with pytest.raises(ValidationError, match="from 1 to 100 %"):
        set_to("check_end_digit_percent", "101")
