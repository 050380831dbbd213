"""Bulk insertion gives back exactly what went in, on either database."""

import datetime
import uuid

import pytest

from plantings.models import Observation
from registry.services.shared.bulk_insert import bulk_insert
from tests import factories

pytestmark = pytest.mark.django_db
NAMES = ["uuid", "round", "tree", "status", "observed_on", "height_cm", "canker_class", "note", "entered_by", "received_at"]
STAMP = datetime.datetime(2026, 10, 12, 9, 30, 15, 123456, tzinfo=datetime.UTC)
DAY = datetime.date(2019, 9, 2)


def test_every_value_comes_back_as_it_went_in():
    actor, planting = factories.person(), factories.planting()
    census_round = factories.census_round(planting)
    # the characters a bulk format could take for its own signs: tab, line end, backslash, the null sign of COPY, a quote, a per cent
    notes = ["plain", "a\tb", "two\nlines", "back\\slash \\N \\.", "it's 5 %s", "", "Ångström ½ 樹"]
    trees = factories.trees(planting, count=len(notes), actor=actor)
    rows = [
        (uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, 40.25 if number % 2 else None, number, note, actor.pk, STAMP)
        for number, (tree, note) in enumerate(zip(trees, notes, strict=True))
    ]
    bulk_insert(Observation, NAMES, rows)
    columns = [f"{name}_id" if name in {"round", "tree", "entered_by"} else name for name in NAMES]
    assert sorted(Observation.objects.values_list(*columns)) == sorted(rows)


def test_columns_that_are_not_named_are_blank_or_null():
    actor, planting = factories.person(), factories.planting()
    tree, census_round = factories.trees(planting, count=1, actor=actor)[0], factories.census_round(planting)
    names = [name for name in NAMES if name not in {"height_cm", "canker_class", "note"}]
    bulk_insert(Observation, names, [(uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, actor.pk, STAMP)])
    stored = Observation.objects.get()
    assert (stored.note, stored.observer, stored.cause, stored.height_cm, stored.supersedes) == ("", "", "", None, None)
    assert stored.own_values == {}


def test_more_rows_than_one_chunk_are_all_stored():
    actor, planting = factories.person(), factories.planting()
    tree, census_round = factories.trees(planting, count=1, actor=actor)[0], factories.census_round(planting)
    names = [name for name in NAMES if name not in {"height_cm", "canker_class", "note"}]
    rows = [(uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, actor.pk, STAMP) for _ in range(5_001)]
    bulk_insert(Observation, names, rows)
    assert Observation.objects.count() == 5_001


def test_storing_no_rows_is_not_an_error():
    bulk_insert(Observation, NAMES, [])
    assert not Observation.objects.exists()
