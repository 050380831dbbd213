"""The lead, signed in."""

import pytest

from tests import factories


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person
