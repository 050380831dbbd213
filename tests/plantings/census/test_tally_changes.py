"""Tallies after each write equal a recount, whichever way they were brought up to date; and a batch reads no more than it is about."""

import datetime
import re
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from plantings.calc.survival.survival import Counts
from plantings.models import CauseTally, CensusRound, Observation, PlotCount, RoundProgress, SurvivalTally, Tree
from plantings.selectors.census.recount import tally_differences
from plantings.selectors.census.tally_changes import planting_change, rounds_tallied
from plantings.selectors.census.verify import check_census
from plantings.services.census import tallies
from plantings.services.census.observations import CensusRefused, CensusRow, observation_correct, observations_record
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.plantings import round_save
from plantings.services.trees import counted_plot_add, tree_replace
from registry.models import AuditEntry
from tests import factories
from tests.properties import examples

ROUNDS, TREES = 4, 6
STATUS = st.sampled_from(["A", "AR", "D", "SU", "NF", "NL", "NV", "RM"])
CAUSES = {"D": ["", "frost", "canker"], "RM": ["sanitation", "thinned"]}


def a_row():
    """(tree, round, status, cause, canker class, days after the round opens)."""
    numbers = st.tuples(st.integers(0, TREES - 1), st.integers(0, ROUNDS - 1))
    rest = st.tuples(STATUS, st.integers(0, 2), st.sampled_from([None, 0, 0, 2]), st.integers(0, 3))
    return st.tuples(numbers, rest).map(lambda pair: (*pair[0], *pair[1]))


STEP = st.one_of(
    st.tuples(st.just("records"), st.lists(a_row(), min_size=1, max_size=5)),
    st.tuples(st.just("correct"), st.tuples(st.integers(0, 10), STATUS, st.integers(0, 2))),
    st.tuples(st.just("count"), st.tuples(st.integers(0, 1), st.integers(0, ROUNDS - 1), st.integers(0, 20), st.integers(0, 20))),
    st.tuples(st.just("recount"), st.tuples(st.integers(0, 10), st.integers(0, 40))),
    st.tuples(st.just("replace"), st.integers(0, TREES - 1)),
    st.tuples(st.just("round"), st.just(None)),
)


def cause_of(status, number):
    causes = CAUSES.get(status, [""])
    return causes[number % len(causes)]


class Programme:
    """A planting under test: planted trees of two lots and a filler, sown and planted plots, rounds before today."""

    def __init__(self):
        self.actor = factories.person()
        self.planting = factories.planting(planted_on=factories.day(2015, 4, 20))
        one, two = factories.stock_lot(), factories.stock_lot()
        self.trees = factories.trees(self.planting, one, 3, actor=self.actor, row=1)
        self.trees += factories.trees(self.planting, two, 2, actor=self.actor, role="check", row=2)
        self.trees += factories.trees(self.planting, two, 1, actor=self.actor, role="buffer", row=3)
        self.rounds = [factories.census_round(self.planting, 2 * season + 1) for season in range(ROUNDS)]
        self.plots = [
            counted_plot_add(actor=self.actor, planting=self.planting, code=code, lot=lot, planted_count=40)
            for code, lot in (("D1", factories.seed_lot()), ("D2", one))
        ]

    def take(self, kind, what):
        getattr(self, f"take_{kind}")(what)

    def take_records(self, rows):
        observations_record(actor=self.actor, rows=[self.row(*values) for values in rows])

    def row(self, tree, number, status, cause, canker, days):
        census_round = self.rounds[number]
        return CensusRow(
            round_id=census_round.pk, tree_id=self.trees[tree].pk, status=status, cause=cause_of(status, cause),
            observed_on=census_round.opens_on + datetime.timedelta(days), canker_class=canker if status in {"A", "AR", "NV"} else None,
        )  # fmt: skip

    def take_correct(self, what):
        number, status, cause = what
        records = list(Observation.objects.filter(round__planting=self.planting, superseded_by=None).order_by("pk"))
        if records:
            record = records[number % len(records)]
            changes = {"status": status, "cause": cause_of(status, cause), "canker_class": None}
            observation_correct(actor=self.actor, observation=record, reason="test", **changes)

    def take_count(self, what):
        plot, number, alive, dead = what
        day = self.rounds[number].opens_on
        plot_count_record(
            actor=self.actor, census_round=self.rounds[number], plot=self.plots[plot], alive=alive, dead=dead, observed_on=day
        )

    def take_recount(self, what):
        number, alive = what
        counts = list(PlotCount.objects.filter(plot__planting=self.planting, superseded_by=None).order_by("pk"))
        if counts:
            earlier = counts[number % len(counts)]
            plot_count_record(
                actor=self.actor, census_round=earlier.round, plot=earlier.plot, alive=alive, observed_on=earlier.observed_on,
                supersedes=earlier, reason="test",
            )  # fmt: skip

    def take_replace(self, number):
        tree = self.trees[number]
        new = tree_replace(actor=self.actor, tree=tree, tag=f"R{factories.number()}", planted_on=self.rounds[0].opens_on)
        new.refresh_from_db()
        self.trees[number] = new

    def take_round(self, _what):
        """A round between two others."""
        used = set(self.planting.rounds.values_list("opens_on", flat=True))
        day = next(day for number in range(365) if (day := factories.day(2016, 2, 1) + datetime.timedelta(7 * number)) not in used)
        fields = {"label": f"extra {day}", "growing_seasons": 1, "opens_on": day, "closes_on": day + datetime.timedelta(3)}
        earlier = self.planting.rounds.filter(opens_on__lt=day).order_by("opens_on").last()
        fields["growing_seasons"] = earlier.growing_seasons if earlier else 1
        round_save(actor=self.actor, census_round=CensusRound(planting=self.planting, **fields))


class TallyProperties(TestCase):
    @settings(max_examples=examples(15), deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.booleans(), st.lists(STEP, min_size=1, max_size=8))
    def test_tallies_equal_a_recount_after_every_step(self, every_round_has_records, steps):
        programme = Programme()
        if every_round_has_records:  # otherwise most steps are the first of their round and count the planting again
            programme.take_records([(0, number, "A", 0, None, 0) for number in range(ROUNDS)])
        for kind, what in steps:
            programme.take(kind, what)
            assert tally_differences(programme.planting)[2] == [], (kind, what)
        assert check_census().faults == []


# -- which way a write goes -----------------------------------------------------------------------------------------------------

pytestmark = pytest.mark.django_db


@pytest.fixture
def programme():
    made = Programme()
    for number in range(ROUNDS):
        made.take_records([(tree, number, "A", 0, 0, 0) for tree in range(TREES - 1)])
    return made


@pytest.fixture
def rebuilt(monkeypatch):
    """The plantings that were counted again completely."""
    found, count = [], tallies.planting_states
    monkeypatch.setattr(tallies, "planting_states", lambda plantings: found.extend(plantings) or count(plantings))
    return found


def the_last(programme, **fields):
    """A row about the tree that has no record yet."""
    values = {"status": "A", "observed_on": programme.rounds[-1].opens_on} | fields
    return CensusRow(round_id=programme.rounds[-1].pk, tree_id=programme.trees[-1].pk, **values)


def test_a_record_does_not_count_the_planting_again(programme, rebuilt):
    programme.take_records([(0, 1, "D", 1, None, 0), (1, 3, "NF", 0, None, 0), (4, 2, "RM", 1, None, 1)])
    programme.take_correct((0, "SU", 0))
    assert rebuilt == []
    assert tally_differences(programme.planting)[2] == []


def test_a_record_in_a_round_without_any_counts_it_again(programme, rebuilt):
    programme.rounds.append(factories.census_round(programme.planting, 9))
    programme.take_records([(0, ROUNDS, "A", 0, None, 0)])
    assert rebuilt == [programme.planting]
    assert tally_differences(programme.planting)[2] == []


def wrong_fate(programme):
    Tree.objects.filter(pk=programme.trees[-1].pk).update(fate="dead")


def wrong_edition(programme):
    RoundProgress.objects.filter(round=programme.rounds[0]).update(edition=tallies.TALLIES_EDITION - 1)


def too_few_to_take_from(programme):
    entry = SurvivalTally.objects.filter(round=programme.rounds[-1], entry=programme.trees[-1].entry)
    entry.update(not_visited=0, alive=1)


def no_tally_of_the_entry(programme):
    SurvivalTally.objects.filter(round=programme.rounds[-1], entry=programme.trees[-1].entry).delete()


def no_tally_of_an_earlier_round(programme):
    SurvivalTally.objects.filter(round=programme.rounds[0]).delete()


@pytest.mark.parametrize("spoil", [wrong_fate, wrong_edition, too_few_to_take_from, no_tally_of_the_entry, no_tally_of_an_earlier_round])
def test_tallies_that_cannot_be_right_are_counted_again(programme, rebuilt, spoil):
    spoil(programme)
    observations_record(actor=programme.actor, rows=[the_last(programme)])
    assert rebuilt == [programme.planting]
    assert tally_differences(programme.planting)[2] == []


def test_a_cause_that_no_tree_has_any_longer_leaves_no_tally(programme, rebuilt):
    programme.take_records([(0, 3, "D", 1, None, 0)])
    assert CauseTally.objects.get().cause == "frost"
    observation_correct(actor=programme.actor, observation=Observation.objects.get(status="D"), reason="wrong tree", status="A")
    assert not CauseTally.objects.exists()
    assert rebuilt == []


def test_what_a_record_changes_is_named_without_zeros(programme):
    """The tree was a buffer tree that nobody had visited, so no progress of test and check positions changes."""
    row = the_last(programme, canker_class=2)
    observations_record(actor=programme.actor, rows=[row])
    tree, record = programme.trees[-1], Observation.objects.get(uuid=row.uuid)
    Tree.objects.filter(pk=tree.pk).update(fate="not_visited")  # as before the record
    rounds = rounds_tallied([programme.planting])[programme.planting.pk]
    change = planting_change(programme.planting, rounds, trees={record.pk: tree.pk})
    # seen alive in the last round, so it was alive at the earlier ones; only the last one knows of it at the time
    alive = Counts(alive=1, not_visited=-1)
    last = alive._replace(alive_then=1, assessed_then=1, canker_assessed=1, cankered=1)
    rounds = [item.pk for item in programme.rounds]
    assert change.counts == dict.fromkeys([(pk, tree.entry_id) for pk in rounds[:-1]], alive) | {(rounds[-1], tree.entry_id): last}
    assert (change.causes, change.progress, change.fates) == ({}, {}, {tree.pk: "alive"})


# -- what a write may not do ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("other", ["tree", "round"])
def test_a_correction_is_about_the_tree_and_round_it_corrects(programme, other):
    record = programme.trees[0].observations.get(round=programme.rounds[3])
    row = CensusRow(
        round_id=programme.rounds[2 if other == "round" else 3].pk, tree_id=programme.trees[1 if other == "tree" else 0].pk, status="D",
        observed_on=programme.rounds[3].opens_on, supersedes_id=record.pk, reason="test", uuid=uuid4(),
    )  # fmt: skip
    with pytest.raises(CensusRefused) as refused:
        observations_record(actor=programme.actor, rows=[row])
    assert refused.value.problems[0][0].message == "This corrects a record of another tree or round."


def test_a_record_is_corrected_once(programme):
    record = programme.trees[0].observations.get(round=programme.rounds[3])
    observation_correct(actor=programme.actor, observation=record, reason="test", status="NF")
    row = CensusRow(
        round_id=record.round_id,
        tree_id=record.tree_id,
        status="D",
        observed_on=record.observed_on,
        supersedes_id=record.pk,
        reason="again",
    )
    with pytest.raises(CensusRefused) as refused:
        observations_record(actor=programme.actor, rows=[row])
    assert refused.value.problems[0][0].message == "This record is already corrected. Correct the newest one."


def test_a_batch_asks_as_many_questions_for_any_planting(programme):
    """No query for a row, none for a tree that the batch is not about, and one audit entry."""

    def queries(rows):
        entries = AuditEntry.objects.count()
        with CaptureQueriesContext(connection) as asked:
            observations_record(actor=programme.actor, rows=rows)
        assert AuditEntry.objects.count() == entries + 1
        return [query["sql"] for query in asked]

    one = queries([programme.row(0, 3, "A", 0, 0, 1)])
    for lot in range(3):
        factories.trees(programme.planting, factories.stock_lot(), 20, actor=programme.actor, row=10 + lot, tag=f"X{lot}-")
    many = queries([programme.row(tree, 3, "A", 0, 0, 2) for tree in range(TREES - 1)])
    assert len(many) == len(one)
    assert not [sql for sql in many if re.search(r'WHERE.*"plantings_tree"."planting_id" (=|IN)', sql)]
