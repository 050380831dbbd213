"""Constraints tried in Python: what passes there passes in the database, for all of ours and any values of their columns."""

import datetime
from decimal import Decimal

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from registry.models.shared.check_constraints import CheckConstraint, UniqueConstraint, surely_holds, surely_outside
from tests import factories

ALL = [
    (model, one)
    for label in ("registry", "plantings")
    for model in apps.get_app_config(label).get_models()
    for one in model._meta.constraints
]
CHECKS = [(model, one) for model, one in ALL if isinstance(one, models.CheckConstraint)]
CONDITIONAL = [(model, one) for model, one in ALL if isinstance(one, models.UniqueConstraint) and one.condition]
VALUES = (
    (models.BooleanField, st.booleans()),
    (models.DateTimeField, st.sampled_from([datetime.datetime(2020, month, 1, tzinfo=datetime.UTC) for month in (1, 2)])),
    (models.DateField, st.sampled_from([datetime.date(2020, month, 1) for month in (1, 2)])),
    (models.DecimalField, st.sampled_from([Decimal(text) for text in ("-1", "0", "0.5", "1", "2", "101")])),
    (models.FloatField, st.sampled_from([-1.0, 0.0, 0.5, 1.0, 2.0, 101.0, 1e9])),
    ((models.IntegerField, models.ForeignKey), st.sampled_from([-1, 0, 1, 2, 13, 101])),
    (models.JSONField, st.sampled_from([[], ["odd"]])),
)


def values(field):
    if field.choices:
        drawn = st.sampled_from(["", *(code for code, _words in field.flatchoices)])
    else:
        drawn = next((drawn for kind, drawn in VALUES if isinstance(field, kind)), st.sampled_from(["", "x", "Y"]))
    return st.none() | drawn if field.null else drawn


def columns(condition):
    for child in condition.children:
        if isinstance(child, Q):
            yield from columns(child)
        else:
            yield child[0].partition("__")[0]
            yield from (part.name for part in getattr(child[1], "flatten", list)() if isinstance(part, F))
            yield from [child[1].name] if isinstance(child[1], F) else []


@st.composite
def records(draw, model, check):
    record = model()
    for name in set(columns(check.condition)):
        field = model._meta.get_field(name)
        setattr(record, field.attname, draw(values(field)))
    return record


def passes_in_the_database(check, record):
    return Q(check.condition).check(record._get_field_expression_map(meta=record._meta))


class InPythonAsInTheDatabase(TestCase):
    @given(st.sampled_from(CHECKS).flatmap(lambda one: st.tuples(st.just(one[1]), records(*one))))
    @settings(max_examples=300)
    def test_what_surely_holds_passes_in_the_database(self, one):
        check, record = one
        assert not surely_holds(check.condition, record) or passes_in_the_database(check, record)

    @given(st.sampled_from(CONDITIONAL).flatmap(lambda one: st.tuples(st.just(one[1]), records(*one))))
    @settings(max_examples=50)
    def test_what_is_surely_outside_fails_the_condition_in_the_database(self, one):
        unique, record = one
        assert not surely_outside(unique.condition, record) or not passes_in_the_database(unique, record)


def test_every_condition_is_tried_in_python_first():
    assert len(CHECKS) > 80
    assert [check.name for _model, check in CHECKS if not isinstance(check, CheckConstraint)] == []
    assert len(CONDITIONAL) > 5
    assert [unique.name for _model, unique in CONDITIONAL if not isinstance(unique, UniqueConstraint)] == []


@pytest.mark.django_db
def test_a_sound_record_needs_no_query_for_its_checks(django_assert_num_queries):
    lot = factories.seed_lot(seeds=10)
    with django_assert_num_queries(0):
        for check in lot._meta.constraints:
            if isinstance(check, CheckConstraint):
                check.validate(type(lot), lot)


@pytest.mark.django_db
def test_a_unique_reference_costs_a_query_only_where_there_is_one(django_assert_num_queries):
    entry = factories.seed_lot(seeds=10).ledger.get()
    [once] = [one for one in entry._meta.constraints if isinstance(one, UniqueConstraint)]
    for reference, queries in (("", 0), ("box 3", 3)):  # a savepoint, the query and its release
        entry.reference = reference
        with django_assert_num_queries(queries):
            once.validate(type(entry), entry)


@pytest.mark.django_db
def test_a_broken_check_says_its_message():
    lot = factories.seed_lot(seeds=10)
    lot.closed_on, lot.balance = factories.day(2020), 10
    with pytest.raises(ValidationError):
        next(check for check in lot._meta.constraints if check.name == "lot_closed_at_zero").validate(type(lot), lot)


@pytest.mark.parametrize(
    "condition",
    [
        Q(name__iexact="x"), Q(site__name="x"), Q(balance__gt="1"), Q(balance=F("count") * 2), Q(a=1) ^ Q(b=1), ~(Q(a=1) & ~Q(b=1)),
    ],
)  # fmt: skip
def test_what_python_cannot_tell_goes_to_the_database(condition):
    class Record:
        a, b, balance, count, name, site = 1, None, 5, 2, "X", None

        class _meta:
            @staticmethod
            def get_field(name):
                return type("Field", (), {"attname": name})

    assert not surely_holds(condition, Record())
