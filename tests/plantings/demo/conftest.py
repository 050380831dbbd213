"""The demo, loaded once for every test file in this folder."""

import pytest
from django.db import connection, transaction

from plantings.imports.demo.loading import demo_load


@pytest.fixture(scope="package")
def loaded(django_db_setup, django_db_blocker):
    """The demo, loaded once for all tests of this folder and taken back at the end; {file name: plan}."""
    with django_db_blocker.unblock(), transaction.atomic():
        plans = demo_load()
        connection.check_constraints()  # once, since PostgreSQL would check these rows again at the end of each test
        yield plans
        transaction.set_rollback(True)


@pytest.fixture
def book(loaded, db):
    return loaded
