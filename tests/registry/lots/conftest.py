"""Who enters seed in the tests of its pages."""

import pytest

from tests import factories


@pytest.fixture
def manager(client):
    person = factories.person("manager")
    client.force_login(person)
    return person
