"""A load that an autovacuum passed by is answered as quickly as any other."""

import pytest
from django.db import connection

from plantings.models import Observation, Tree
from plantings.services.census import observations
from registry.services.shared.table_statistics import statistics_refresh
from tests import factories

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite plans without counting rows"),
]


def counted(model):
    """The rows that PostgreSQL takes a table to have; -1 where it never counted them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT reltuples FROM pg_class WHERE oid = %s::regclass", [model._meta.db_table])
        return cursor.fetchone()[0]


@pytest.mark.parametrize(("many", "known"), [(5, 6), (7, 0)])
def test_rows_of_the_open_load_are_counted(monkeypatch, many, known):
    monkeypatch.setattr(observations, "MANY_ROWS", many)
    planting = factories.planting()
    trees = factories.trees(planting, count=6)
    with connection.cursor() as cursor:
        # what an autovacuum writes that passes before the load is stored
        cursor.execute("UPDATE pg_class SET reltuples = 0, relpages = 1 WHERE relname IN ('plantings_tree', 'plantings_observation')")
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"))
    assert (counted(Tree), counted(Observation)) == (known, known)


def test_a_load_goes_on_while_a_vacuum_holds_the_table():
    other = connection.copy()
    other.set_autocommit(False)
    try:
        other.cursor().execute("LOCK TABLE plantings_tree IN SHARE UPDATE EXCLUSIVE MODE")  # as a vacuum does
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL lock_timeout = '200ms'")
        statistics_refresh(Tree)
        assert factories.trees(factories.planting(), count=1)
    finally:
        other.close()
