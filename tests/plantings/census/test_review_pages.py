"""The queue of a round: what is clean is accepted in one step, what looks odd is shown with its evidence and decided by a person."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.choices import ReviewState
from plantings.models import Observation, Review
from plantings.selectors.census.queue import DISAGREE, review_queue
from plantings.selectors.overview.today import today_lines
from plantings.services.census.reviews import records_review
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(client):
    """Twenty trees in a row that grew by 40 to 59 cm from one round to the next, tree 5 excepted; the coordinator is signed in."""
    volunteer, lead = factories.person("volunteer"), factories.person()
    planting = factories.planting(crew=[volunteer])
    trees = factories.trees(planting, count=20)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    alive = dict.fromkeys(trees, "A")
    factories.observe(first, alive, actor=lead, height_cm={tree: 60 + 7 * number for number, tree in enumerate(trees)})
    heights = {tree: 900 if number == 4 else 101 + 8 * number for number, tree in enumerate(trees)}
    factories.observe(second, alive, actor=volunteer, height_cm=heights)
    records_review(actor=lead, observations=Observation.objects.filter(round=first), state=ReviewState.ACCEPTED)
    client.force_login(factories.person("coordinator"))
    return second, trees, volunteer


def page(client, census_round):
    return client.get(reverse("round_review", args=[census_round.pk]))


def decide(client, census_round, decision, **given):
    return client.post(reverse("round_review", args=[census_round.pk]), {"decision": decision, **given})


def record_of(census_round, tree):
    return Observation.objects.unsuperseded().get(round=census_round, tree=tree)


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_clean_records_are_accepted_in_one_step(client, here):
    census_round, trees, _volunteer = here
    shown = page(client, census_round)
    assert "20 records to review" in text_of(shown) and "Accept 19 clean records" in text_of(shown)
    answer = decide(client, census_round, "accepted", records=shown.context["clean_keys"])
    assert answer.status_code == 302
    queue = review_queue(census_round)
    assert (len(queue.clean), [line.record.tree.tag for line in queue.odd]) == (0, [trees[4].tag])
    assert "Accept 0" not in text_of(page(client, census_round))


def test_an_odd_record_is_beside_its_last_values_and_its_neighbours(client, here):
    census_round, trees, _volunteer = here
    [line] = page(client, census_round).context["odd"]
    assert (line["tag"], line["now"], line["last"]) == (trees[4].tag, "Alive (A), 900 cm", "Alive (A), 88 cm")
    too_tall, slip = line["looks"]
    assert "days after planting: more than" in too_tall and "millimetres and centimetres" in slip
    assert line["beside"] == [
        (trees[3].tag, "Alive (A), 125 cm", "Alive (A), 81 cm"),
        (trees[5].tag, "Alive (A), 141 cm", "Alive (A), 95 cm"),
    ]
    record = record_of(census_round, trees[4])
    queue = reverse("round_review", args=[census_round.pk])
    assert line["correct"] == f"{reverse('observation_correct', args=[record.pk])}?back={queue.replace('/', '%2F')}"
    correction = {"status": "A", "observed_on": record.observed_on.isoformat(), "height_cm": "94", "reason": "moved point"}
    answer = client.post(line["correct"], correction)
    assert (answer.status_code, answer["Location"]) == (302, queue) and page(client, census_round).context["odd"] == []


def test_a_record_asked_back_is_shown_to_the_crew_with_the_question(client, here):
    census_round, trees, volunteer = here
    record = record_of(census_round, trees[4])
    assert decide(client, census_round, "asked_back", record=record.pk, reason="900 or 94 cm?").status_code == 302
    assert "900 or 94 cm?" in text_of(page(client, census_round))
    today = timezone.localdate()
    assert [line.text for line in today_lines(volunteer, today) if "look at again" in line.text] == [
        f"1 record of {census_round.label} in {census_round.planting.code} to look at again"
    ]
    client.force_login(volunteer)
    for address in (reverse("round_detail", args=[census_round.pk]), reverse("census_tree", args=[census_round.pk, trees[4].pk])):
        assert "900 or 94 cm?" in text_of(client.get(address))
    links = re.findall(r"<a [^>]*>([^<]*)</a>", client.get(reverse("round_detail", args=[census_round.pk])).content.decode())
    assert "correct it" in links and "correct" not in links  # in a column "Answer", "correct" alone would read as a judgement
    assert "900 or 94 cm?" in text_of(client.get(reverse("tree_detail", args=[trees[4].pk])))


def test_a_rejected_record_is_on_the_grid_and_today_again(client, here):
    census_round, trees, _volunteer = here
    record = record_of(census_round, trees[4])
    assert decide(client, census_round, "rejected", record=record.pk, reason="pole read wrong").status_code == 302
    grid = client.get(reverse("census_grid", args=[census_round.pk]))
    line = next(line for line in grid.context["grid"].lines if line.tree == trees[4])
    assert line.form is not None and line.records == ()
    shown = text_of(client.get(reverse("round_detail", args=[census_round.pk])))
    assert "19 of 20 trees recorded" in shown and reverse("census_tree", args=[census_round.pk, trees[4].pk]) in shown
    story = text_of(client.get(reverse("tree_detail", args=[trees[4].pk])))
    assert "Rejected, and not counted. Reason: pole read wrong" in story


@pytest.mark.parametrize(
    ("decision", "given", "said"),
    [
        ("rejected", {"reason": " "}, "Say why the record is rejected."),
        ("asked_back", {"reason": ""}, "What should the crew look at again?"),
        ("", {"reason": "why"}, "Choose what to do with the records."),
        ("rejected", {"reason": "x" * 201}, "at most 200 characters"),
    ],
)
def test_what_is_missing_is_said_and_nothing_ticked_or_typed_is_lost(client, here, decision, given, said):
    census_round, trees, _volunteer = here
    record = record_of(census_round, trees[4])
    answer = decide(client, census_round, decision, record=record.pk, **given)
    assert answer.status_code == 200 and said in text_of(answer)
    assert f'name="record" value="{record.pk}" checked' in text_of(answer)
    assert not given["reason"].strip() or f'value="{given["reason"]}"' in text_of(answer)
    assert Review.objects.filter(observation__round=census_round).count() == 0


def test_without_a_tick_nothing_is_decided(client, here):
    census_round, _trees, _volunteer = here
    assert "No record is ticked." in text_of(decide(client, census_round, "accepted"))
    assert "None of these records is in this round." in text_of(decide(client, census_round, "accepted", record=10**9))
    assert "No record is ticked." in text_of(decide(client, census_round, "accepted", records="x,,-1"))


def test_a_record_of_another_round_is_not_decided_from_here(client, here):
    census_round, trees, _volunteer = here
    other = Observation.objects.exclude(round=census_round).first()
    decide(client, census_round, "rejected", record=other.pk, reason="no")
    assert not Review.objects.filter(state="rejected").exists()


def test_records_that_disagree_are_odd(client, here):
    census_round, trees, _volunteer = here
    factories.observe(census_round, {trees[8]: "D"}, cause="frost")
    odd = {line.record.pk: line.looks for line in review_queue(census_round).odd}
    assert sorted(DISAGREE in looks for looks in odd.values()) == [False, True, True]


def test_trees_that_two_people_recorded_are_compared(client, here):
    census_round, trees, _volunteer = here
    factories.observe(census_round, {trees[8]: "A"}, height_cm=167, observer="S. Second")
    assert "Height: second less first 2 cm, 1 tree." in text_of(page(client, census_round))


def test_own_measurements_of_two_people_are_compared_in_words(client, here):
    _round, trees, volunteer = here
    lead = factories.person()
    spot = factories.own_measurement(actor=lead, code="leaf_spot")
    protocol = factories.protocol(["height", spot.field], actor=lead)
    census_round = factories.census_round(trees[0].planting, 3, protocol=protocol)
    for who, grade in (("Una Counter", 0), ("Bea Again", 2)):
        factories.observe(census_round, dict.fromkeys(trees[:6], "A"), actor=volunteer, observer=who, own_values={spot.field: grade})
    assert "Leaf spot: 0 of 6 trees the same; kappa" in text_of(page(client, census_round))


def test_swapped_records_are_suggested_with_the_evidence(client, here):
    census_round, trees, volunteer = here
    planting = census_round.planting
    more = factories.trees(planting, count=2, row=2)
    first = planting.rounds.order_by("opens_on").first()
    for tree, last, now in zip(more, (90, 240), (285, 132), strict=True):
        factories.observe(first, {tree: "A"}, height_cm=last)
        factories.observe(census_round, {tree: "A"}, actor=volunteer, height_cm=now)
    answer = page(client, census_round)
    assert len(answer.context["exchanges"]) == 1
    assert f"The records of trees {more[0].tag} and {more[1].tag} fit better exchanged." in text_of(answer)


def test_today_says_what_waits_and_the_round_page_leads_to_it(client, here):
    census_round, _trees, _volunteer = here
    coordinator, today = factories.person("coordinator"), timezone.localdate()
    [line] = [line for line in today_lines(coordinator, today) if "to review" in line.text]
    assert line.mine and line.url == reverse("round_review", args=[census_round.pk]) and "20 records to review" in line.text
    assert reverse("round_review", args=[census_round.pk]) in text_of(client.get(reverse("round_detail", args=[census_round.pk])))
    records_review(actor=coordinator, observations=Observation.objects.filter(round=census_round), state=ReviewState.ACCEPTED)
    assert not [line for line in today_lines(coordinator, today) if "to review" in line.text]
    assert "Every record of this round has been reviewed." in text_of(page(client, census_round))


def test_the_queue_costs_the_same_for_few_and_many(client, here, django_assert_max_num_queries):
    census_round, trees, volunteer = here
    more = factories.trees(census_round.planting, count=30, row=3)
    factories.observe(census_round, dict.fromkeys(more, "A"), actor=volunteer)
    census_round = type(census_round).objects.select_related("planting").get(pk=census_round.pk)
    with django_assert_max_num_queries(4):
        review_queue(census_round)
