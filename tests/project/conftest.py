"""What several tests of whole pages use."""

import pytest
from django.db import connection, transaction

from tests.project.one_of_everything import world


@pytest.fixture(scope="module")
def shared_world(django_db_setup, django_db_blocker):
    """One of everything for all tests of a file, taken back at its end. Each test takes back what it writes itself.

    (people, records, special) as `world` gives them. A file with transactional tests cannot use it.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        made = world()
        connection.check_constraints()  # once, since PostgreSQL would check these rows again at the end of each test
        yield made
        transaction.set_rollback(True)
