"""A load that an autovacuum passed by is answered as quickly as any other."""

import pytest
from django.db import connection

from plantings.models import Observation, Tree
from plantings.services import census
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
    monkeypatch.setattr(census, "MANY_ROWS", many)
    planting = factories.planting()
    trees = factories.trees(planting, count=6)
    with connection.cursor() as cursor:
        # what an autovacuum writes that passes before the load is stored
        cursor.execute("UPDATE pg_class SET reltuples = 0, relpages = 1 WHERE relname IN ('plantings_tree', 'plantings_observation')")
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "A"))
    assert (counted(Tree), counted(Observation)) == (known, known)
