"""A landowner for every test file in this folder."""

import pytest

from tests.plantings.land.land_scene import Land


@pytest.fixture
def land(db):
    return Land("Hazel")
