"""Bulk insertion gives back exactly what went in, on either database."""

import datetime
import uuid

import pytest
from django.db import connection

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
    rows = [(uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, actor.pk, STAMP) for _ in range(5_777)]
    assert bulk_insert(Observation, names, iter(rows)) == 5_777
    assert list(Observation.objects.order_by("pk").values_list("uuid", flat=True)) == [row[0] for row in rows]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL takes all rows by one COPY")
def test_a_statement_on_sqlite_stores_hundreds_of_rows():
    # a statement with a trigger has a journal of its own: of one row each they took 24 µs a row, with hundreds of rows 11 (measured)
    actor, planting = factories.person(), factories.planting()
    tree, census_round = factories.trees(planting, count=1, actor=actor)[0], factories.census_round(planting)
    names, said = [name for name in NAMES if name not in {"height_cm", "canker_class", "note"}], []
    rows = [(uuid.uuid4(), census_round.pk, tree.pk, "A", DAY, actor.pk, STAMP) for _ in range(1_234)]

    def note(execute, sql, params, many, context):
        said.append((sql.count("("), len(params)))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        bulk_insert(Observation, names, rows)
    # one bracket around the names of the columns, and one for each row
    assert sum((brackets - 1) * times for brackets, times in said) == 1_234
    assert sum(times for _brackets, times in said) <= 1_234 / 300


def test_storing_no_rows_is_not_an_error():
    bulk_insert(Observation, NAMES, [])
    assert not Observation.objects.exists()
