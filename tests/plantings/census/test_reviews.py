"""Reviews of census records: what counts, what is open again, what waits; hand-worked histories of one planting."""

import datetime
from random import Random
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, IntegrityError, transaction
from django.utils import timezone

from plantings.choices import Arrival, ReviewState
from plantings.models import Observation, Review, ReviewTally, SurvivalTally
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.reviews import is_accepted, last_reviews, rounds_waiting
from plantings.selectors.census.rounds import missing_trees
from plantings.selectors.census.verify import check_census, check_reviews
from plantings.services.census.observations import CensusRow, observation_correct, observations_record
from plantings.services.census.reviews import records_review
from registry.models import AuditEntry
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db
ACCEPTED, ASKED_BACK, REJECTED = ReviewState


@pytest.fixture
def here():
    """A planting of five trees, one round, recorded A A D NF A by a volunteer."""
    volunteer, planting = factories.person("volunteer"), factories.planting()
    trees = factories.trees(planting, count=5)
    census_round = factories.census_round(planting)
    factories.observe(census_round, dict(zip(trees, ["A", "A", "D", "NF", "A"], strict=True)), actor=volunteer)
    return census_round, trees


def record_of(tree):
    return Observation.objects.unsuperseded().get(tree=tree)


def review(tree, state, reason="", actor=None):
    return records_review(actor=actor or factories.person(), observations=[record_of(tree)], state=state, reason=reason)


def counts(census_round):
    tally = SurvivalTally.objects.get(round=census_round)
    return tally.alive, tally.dead, tally.not_found, tally.not_visited


def waiting(census_round):
    tally = ReviewTally.objects.get(round=census_round)
    return tally.unread, tally.asked_back


def unread_count(value):
    programme_setting_save(
        actor=factories.person(), key="unread_count", value=value, owner="The lead", set_on=datetime.date(2026, 1, 15)
    )  # fmt: skip


def proved():
    return recount_differences()[1] == [] and not check_reviews().faults and not check_census().faults


def test_what_arrives_is_received_and_counts_at_first(here):
    census_round, trees = here
    assert {record.arrived_as for record in Observation.objects.all()} == {Arrival.RECEIVED}
    assert counts(census_round) == (3, 1, 1, 0) and waiting(census_round) == (5, 0)
    assert Observation.objects.unread().count() == Observation.objects.counting().count() == 5
    assert proved()


def test_accepted_records_wait_no_longer_and_count_as_before(here):
    census_round, trees = here
    lead = factories.person()
    assert records_review(actor=lead, observations=Observation.objects.all(), state=ACCEPTED) == 5
    assert waiting(census_round) == (0, 0) and counts(census_round) == (3, 1, 1, 0)
    assert records_review(actor=lead, observations=Observation.objects.all(), state=ACCEPTED) == 0
    assert Review.objects.count() == 5 and set(Review.objects.values_list("entered_by", flat=True)) == {lead.pk}
    entry = AuditEntry.objects.get(verb="planting.census_reviewed")
    assert entry.changes["reviews"] == [None, 5] and proved()


def test_a_rejected_record_opens_its_position_and_no_longer_counts(here):
    census_round, trees = here
    assert list(missing_trees(census_round)) == []
    review(trees[0], REJECTED, "another tree, by its tag")
    assert counts(census_round) == (2, 1, 1, 1) and waiting(census_round) == (4, 0)
    assert list(missing_trees(census_round)) == [trees[0]]
    trees[0].refresh_from_db()
    assert trees[0].fate == "not_visited" and proved()
    factories.observe(census_round, {trees[0]: "D"})
    assert counts(census_round) == (2, 2, 1, 0) and list(missing_trees(census_round)) == [] and proved()


def test_a_rejected_record_can_be_accepted_after_all(here):
    census_round, trees = here
    review(trees[0], REJECTED, "another tree")
    review(trees[0], ACCEPTED)
    assert counts(census_round) == (3, 1, 1, 0) and waiting(census_round) == (4, 0)
    [first, second] = Review.objects.order_by("pk")
    assert (first.state, second.state, second.supersedes) == (REJECTED, ACCEPTED, first)
    assert last_reviews(Review, [record_of(trees[0]).pk]) == {record_of(trees[0]).pk: second} and proved()


def test_tallies_at_each_step_of_a_hand_worked_history(here):
    """One tree asked back, answered and accepted; another rejected and recorded again. Worked by hand from the A A D NF A of the round."""
    census_round, trees = here
    volunteer = record_of(trees[1]).entered_by
    census_round.closes_on = timezone.localdate()
    census_round.save()

    def now(tally, reviews, is_open=()):
        assert counts(census_round) == tally and waiting(census_round) == reviews
        assert list(missing_trees(census_round)) == list(is_open) and proved()

    now((3, 1, 1, 0), (5, 0))
    review(trees[1], ASKED_BACK, "really alive?")  # counts as an unread one
    assert Observation.objects.asked_back().get().tree == trees[1]
    now((3, 1, 1, 0), (4, 1))
    answer = observation_correct(actor=volunteer, observation=record_of(trees[1]), reason="dead after all", status="D")
    assert answer.arrived_as == Arrival.RECEIVED
    now((2, 2, 1, 0), (5, 0))
    review(trees[1], ACCEPTED)
    now((2, 2, 1, 0), (4, 0))
    review(trees[0], REJECTED, "another tree, by its tag")
    now((1, 2, 1, 1), (3, 0), is_open=[trees[0]])
    factories.observe(census_round, {trees[0]: "A"}, actor=volunteer)
    now((2, 2, 1, 0), (4, 0))
    records_review(actor=factories.person(), observations=Observation.objects.unread(), state=ACCEPTED)
    now((2, 2, 1, 0), (0, 0))


def test_a_correction_by_the_office_is_accepted_with_it(here):
    census_round, trees = here
    correction = observation_correct(
        actor=factories.person("coordinator"), observation=record_of(trees[2]), reason="keyed wrong", status="A"
    )
    assert correction.arrived_as == Arrival.ACCEPTED and waiting(census_round) == (4, 0) and counts(census_round) == (4, 0, 1, 0)
    assert proved()


def test_while_unread_records_do_not_count_only_accepted_ones_do(here):
    census_round, trees = here
    unread_count("no")
    assert not SurvivalTally.objects.filter(round=census_round).exists() and Observation.objects.counting().count() == 0
    assert list(missing_trees(census_round)) == []  # they are here, and nobody is sent out again
    review(trees[0], ACCEPTED)
    review(trees[2], ACCEPTED)
    review(trees[1], ASKED_BACK, "really alive?")
    assert counts(census_round) == (1, 1, 0, 3) and waiting(census_round) == (2, 1) and proved()
    review(trees[0], REJECTED, "wrong row")
    assert counts(census_round) == (0, 1, 0, 4) and proved()
    unread_count("yes")
    assert counts(census_round) == (2, 1, 1, 1) and proved()


def test_records_from_before_reviews_count_without_one(here):
    census_round, trees = here
    tree = factories.trees(census_round.planting, count=1, row=2)[0]
    row = CensusRow(census_round.pk, tree.pk, status="A", observed_on=census_round.opens_on, arrived_as="", uuid=uuid4())
    observations_record(actor=factories.person(), rows=[row])
    unread_count("no")
    assert Observation.objects.counting().get().tree == tree and waiting(census_round) == (5, 0) and proved()


@pytest.mark.parametrize("state", [ASKED_BACK, REJECTED])
def test_asking_back_and_rejecting_need_a_reason(here, state):
    _round, trees = here
    with pytest.raises(ValidationError) as refused:
        review(trees[0], state, "  ")
    assert list(refused.value.message_dict) == ["reason"] and not Review.objects.exists()
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.put_in(Review(observation=record_of(trees[0]), number=1, state=state, entered_at=timezone.now()))


def test_a_corrected_record_is_not_reviewed(here):
    _round, trees = here
    old = record_of(trees[0])
    observation_correct(actor=factories.person(), observation=old, reason="keyed wrong", status="D")
    with pytest.raises(ValidationError, match="1 record was corrected in between"):
        records_review(actor=factories.person(), observations=[old], state=ACCEPTED)


def test_records_of_two_plantings_are_not_reviewed_together(here):
    _round, trees = here
    other = factories.planting()
    factories.observe(factories.census_round(other), {factories.trees(other, count=1)[0]: "A"})
    with pytest.raises(ValidationError, match="one planting at a time"):
        records_review(actor=factories.person(), observations=Observation.objects.all(), state=ACCEPTED)


def test_an_observation_has_one_first_review_and_none_changes(here):
    _round, trees = here
    review(trees[0], ACCEPTED)
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.put_in(Review(observation=record_of(trees[0]), number=1, state=ACCEPTED, entered_at=timezone.now()))
    with pytest.raises(DatabaseError), transaction.atomic():
        Review.objects.update(state=ACCEPTED)
    with pytest.raises(DatabaseError), transaction.atomic():
        Review.objects.all().delete()


def test_a_review_put_in_past_the_service_shows(here):
    _round, trees = here
    review(trees[0], ACCEPTED)
    factories.put_in(Review(observation=record_of(trees[1]), number=1, state=ACCEPTED, entered_at=timezone.now()))
    assert ["2 are there" in fault for fault in check_reviews().faults] == [True]
    assert [line[0].endswith("records to review") for line in recount_differences()[1]] == [True]


def test_only_what_a_person_may_see_waits_for_them(here):
    census_round, trees = here
    assert [item.pk for item in rounds_waiting(factories.person("coordinator"))] == [census_round.pk]
    assert not rounds_waiting(factories.person("volunteer"))
    records_review(actor=factories.person(), observations=Observation.objects.all(), state=ACCEPTED)
    assert not rounds_waiting(factories.person("coordinator"))


def test_a_record_says_how_it_was_accepted(here):
    _round, trees = here
    review(trees[0], ACCEPTED)
    review(trees[1], REJECTED, "wrong row")
    states = {record.tree_id: (record.review_state, is_accepted(record), record.counts) for record in Observation.objects.with_review()}
    assert [states[tree.pk] for tree in trees[:3]] == [("accepted", True, True), ("rejected", False, False), (None, False, True)]


@pytest.mark.parametrize("seed", [1, 2])
def test_tallies_equal_a_recount_whatever_was_reviewed(here, seed):
    """Thirty steps drawn with a fixed seed: records, corrections, reviews, and the setting turned."""
    census_round, trees = here
    rng, lead = Random(seed), factories.person()
    for _ in range(30):
        on_file = list(Observation.objects.unsuperseded())
        step = rng.choice(["record", "correct", "review", "review", "setting"])
        if step == "record":
            factories.observe(census_round, {rng.choice(trees): rng.choice(["A", "D", "NF", "NV"])}, actor=lead)
        elif step == "correct":
            record = rng.choice(on_file)
            status = rng.choice([status for status in ("A", "D", "NL") if status != record.status])
            observation_correct(actor=lead, observation=record, reason="drawn", status=status)
        elif step == "review":
            some = rng.sample(on_file, min(len(on_file), rng.randint(1, 3)))
            records_review(actor=lead, observations=some, state=rng.choice(list(ReviewState)), reason="drawn")
        else:
            unread_count(rng.choice(["yes", "no"]))
    assert proved()
    kept = Observation.objects.counting()
    assert not kept.filter(pk__in=Review.objects.standing().filter(state=REJECTED).values("observation")).exists()
    unread_count("no")
    assert all(is_accepted(record) for record in kept.with_review()) and proved()
