"""Loads that build on and correct each other are withdrawn from the last to the first; after each, every figure is as before it came."""

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from registry.imports.sheets.plan import SheetRefused
from tests import factories
from tests.plantings.loads import row_loads
from tests.plantings.loads.test_withdrawn_census import SOME_ROWS, figures, is_clean, load, withdraw
from tests.plantings.loads.test_withdrawn_rows import SOME_SHEETS, each_kind
from tests.plantings.loads.test_withdrawn_rows import figures as row_figures
from tests.properties import examples

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


@settings(max_examples=examples(4), deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck))
@given(sheets=st.lists(SOME_ROWS, min_size=3, max_size=4))
def test_census_loads_are_withdrawn_in_turn(client, lead, sheets):
    with transaction.atomic():
        done = []
        for rows in sheets:
            before = figures(client, lead)
            if found := load(lead, rows, reason="the list of the crew"):
                done.append((before, found))
        for before, found in reversed(done):
            withdraw(lead, found)
            assert figures(client, lead) == before and is_clean()
        transaction.set_rollback(True)


@settings(max_examples=examples(4), deadline=None, phases=(Phase.explicit, Phase.generate), suppress_health_check=list(HealthCheck))
@given(sheets=st.lists(SOME_SHEETS, min_size=3, max_size=4))
def test_loads_of_lots_and_orchard_trees_are_withdrawn_in_turn(client, lead, sheets):
    with transaction.atomic():
        row_loads.orchard_of(lead)
        done = []
        for rows_of_kinds in sheets:
            for kind, rows in each_kind(rows_of_kinds).items():
                before = row_figures(client, lead)
                try:
                    found = row_loads.load(lead, kind, *rows)
                except SheetRefused:  # a storage check that differs is refused, as is a share
                    continue
                if found:
                    done.append((before, found))
        for before, found in reversed(done):
            withdraw(lead, found)
            assert row_figures(client, lead) == before and row_loads.is_clean()
        transaction.set_rollback(True)
