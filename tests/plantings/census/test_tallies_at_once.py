"""A load of many plantings brings all of their tallies up to date with few statements, and each as a recount would."""

from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.models import Observation
from plantings.selectors.census.recount import tally_differences
from plantings.selectors.census.verify import check_census
from plantings.services.census import tallies
from plantings.services.census.observations import CensusRow, observations_record
from tests import factories
from tests.plantings.census.test_tally_changes import ROUNDS, Programme, a_row
from tests.properties import examples

PLANTINGS = 3
MANY = st.lists(st.tuples(st.integers(0, PLANTINGS - 1), a_row()), min_size=1, max_size=9)
COUNT = st.tuples(st.integers(0, PLANTINGS - 1), st.integers(0, 1), st.integers(0, ROUNDS - 1), st.integers(0, 20), st.integers(0, 20))
STEP = st.one_of(st.tuples(st.just("rows"), MANY), st.tuples(st.just("count"), COUNT))
OF_TALLIES = ("survivaltally", "roundprogress", "causetally", 'UPDATE "plantings_tree"', 'FROM "plantings_tree"', "plantings_countedplot")


class ManyPlantings(TestCase):
    @settings(max_examples=examples(15), deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.integers(1, 20), st.lists(STEP, min_size=1, max_size=5))
    def test_rows_of_several_plantings_leave_tallies_as_recounted(self, trees_at_once, steps):
        """Some of a batch are the first of their round, so their planting is counted again; of others the difference is added."""
        programmes = [Programme() for _ in range(PLANTINGS)]
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(tallies, "_TREES_AT_ONCE", trees_at_once)
            for kind, what in steps:
                if kind == "rows":
                    rows = [programmes[number].row(*values) for number, values in what]
                    observations_record(actor=programmes[0].actor, rows=rows)
                else:
                    programmes[what[0]].take_count(what[1:])
                for programme in programmes:
                    assert tally_differences(programme.planting)[2] == [], (kind, what)
        assert check_census().faults == []


def first_rows(number):
    """A row for each tree of so many plantings, in rounds without a record."""
    found = []
    for _ in range(number):
        planting, lot = factories.planting(), factories.stock_lot()
        census_round = factories.census_round(planting)
        found += [
            CensusRow(census_round.pk, tree.pk, status="A", observed_on=census_round.opens_on, uuid=None)
            for tree in factories.trees(planting, lot, 3)
        ]
    return found


@pytest.mark.django_db
def test_tallies_of_more_plantings_take_no_more_statements():
    counts = []
    for number in (2, 5):
        actor, rows = factories.person(), first_rows(number)
        with CaptureQueriesContext(connection) as asked:
            observations_record(actor=actor, rows=rows)
        counts.append(len([query for query in asked if any(words in query["sql"] for words in OF_TALLIES)]))
    assert counts[0] == counts[1] > 0


@pytest.mark.django_db
def test_plantings_are_counted_together_up_to_a_number_of_trees(monkeypatch):
    actor, rows = factories.person(), first_rows(5)  # of three trees each
    monkeypatch.setattr(tallies, "_TREES_AT_ONCE", 6)
    together, count = [], tallies.planting_states
    monkeypatch.setattr(tallies, "planting_states", lambda plantings: together.append(len(plantings)) or count(plantings))
    observations_record(actor=actor, rows=rows)
    assert together == [2, 2, 1]


@pytest.mark.django_db
def test_identifiers_made_here_ascend_and_given_ones_stay():
    given_ones = {1: UUID(int=2**128 - 1), 4: uuid4()}
    rows = [
        CensusRow(row.round_id, row.tree_id, status=row.status, observed_on=row.observed_on, uuid=given_ones.get(number))
        for number, row in enumerate(first_rows(2))
    ]
    actor = factories.person()
    assert observations_record(actor=actor, rows=rows) == 6
    stored = dict(Observation.objects.values_list("tree", "uuid"))
    identifiers = [stored[row.tree_id] for row in rows]
    assert {number: identifiers[number] for number in given_ones} == given_ones
    made = [found for number, found in enumerate(identifiers) if number not in given_ones]
    assert made == sorted(set(made)) and {found.version for found in made} == {4}
    assert observations_record(actor=actor, rows=[rows[1], rows[4]]) == 0  # the same identifiers again
