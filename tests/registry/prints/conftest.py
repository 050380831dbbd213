"""The lead of the tests of prints."""

import pytest

from tests import factories


@pytest.fixture
def lead(client):
    person = factories.person("lead", first_name="Zoë", last_name="Łukasiewicz")
    client.force_login(person)
    return person
