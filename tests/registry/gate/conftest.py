"""The lead of the tests of the gate."""

import pytest

from tests import factories


@pytest.fixture
def lead():
    return factories.person("lead")
