"""A record that the office asked back: the question reaches the phones of the crew, and a new record is the answer."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.choices import ReviewState
from plantings.models import Observation, PlotCount
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.reviews import records_review
from plantings.services.census.round_links import round_link_make
from plantings.services.census.second import second_draw_make
from plantings.services.trees import counted_plot_add
from plantings.views.phone import data as phone_data
from tests import factories
from tests.plantings.census.phone_batches import body, crew_of, new_uuid, post, sent
from tests.plantings.census.test_census_batch import Field

pytestmark = pytest.mark.django_db
QUESTION = "900 or 94 cm?"


@pytest.fixture
def field():
    """A round whose first tree was recorded by somebody of the crew, and asked back; its window has closed."""
    field = Field()
    field.lead = factories.person("lead")
    factories.observe(field.round, {field.trees[0]: "A"}, actor=field.crew, observer="Rosa", height_cm=900, note="by the gate")
    field.record = Observation.objects.get()
    ask(field, observations=[field.record])
    return field


def ask(field, **records):
    records_review(actor=field.lead, state=ReviewState.ASKED_BACK, reason=QUESTION, **records)


def ways(field):
    """(name, client, address, headers) of somebody else of the crew, and of a crew that came by a link."""
    other = factories.person("volunteer")
    field.planting.crew.add(other)
    client = Client()
    client.force_login(other)
    _link, token = round_link_make(actor=field.lead, census_round=field.round, for_whom="the school", ends_on=timezone.localdate())
    own = reverse("census_phone_data", args=[field.round.pk])
    return [("other", client, own, {}), ("link", Client(), reverse("phone_by_link"), {"X-Round-Link": token})]


@pytest.mark.parametrize("way", [0, 1], ids=["signed in", "link"])
def test_whoever_records_in_the_round_gets_the_question_and_answers(field, way):
    _name, client, address, headers = ways(field)[way]
    wanted = {
        "tree": field.trees[0].pk, "tag": field.trees[0].tag, "uuid": str(field.record.uuid), "question": QUESTION,
        "status": "A", "cause": "", "values": {"height_cm": 900.0}, "note": "by the gate",
    }  # fmt: skip
    if headers:  # who holds a link answers the question, and reads no record of somebody else
        wanted |= {"status": "", "cause": "", "values": {}, "note": ""}
    assert client.get(address, headers=headers).json()["questions"] == [wanted]
    answer = sent(field.trees[0], at=timezone.now(), observer="Mia", values={"height_cm": 94}, corrects=wanted["uuid"])
    assert post(client, address, body([answer]), **headers).json()["answers"][0] == {
        "uuid": answer["uuid"], "result": "stored", "reason": "",
    }  # fmt: skip
    current = Observation.objects.current().get()
    assert (current.height_cm, current.observer, current.supersedes) == (94, "Mia", field.record)
    assert current.reason == "the answer to a question of the office"
    reader = Client(headers={"accept-language": "fr"})
    reader.force_login(field.crew)
    page = reader.get(reverse("tree_detail", args=[field.trees[0].pk])).content.decode()
    assert "réponse à une question du bureau" in page and current.reason not in page
    assert client.get(address, headers=headers).json()["questions"] == []
    again = sent(field.trees[0], "D", at=timezone.now(), observer="Mia", corrects=wanted["uuid"])
    [late] = post(client, address, body([again]), **headers).json()["answers"]
    assert (late["result"], "already corrected" in late["reason"]) == ("refused", True)


def test_a_count_asked_back_is_answered_by_another_count(field):
    plot = counted_plot_add(actor=field.lead, planting=field.planting, code="D1", lot=factories.seed_lot(), planted_count=40)
    plot_count_record(actor=field.lead, census_round=field.round, plot=plot, alive=4, observed_on=field.round.opens_on)
    count = PlotCount.objects.get()
    ask(field, counts=[count])
    crew_page = crew_of(field).get(reverse("round_detail", args=[field.round.pk])).content.decode()
    _name, client, address, headers = ways(field)[1]
    found = client.get(address, headers=headers).json()["questions"][1]
    assert (found["plot"], found["tag"], found["values"], found["question"]) == (plot.pk, "D1", {}, QUESTION)
    moment = sent(field.trees[0], at=timezone.now())
    answer = {name: moment[name] for name in ("at", "said", "loaded")} | {
        "kind": "plot", "uuid": new_uuid(), "plot": plot.pk, "alive": 14, "dead": 0, "note": "", "observer": "Mia", "corrects": found["uuid"],
    }  # fmt: skip
    assert post(client, address, body([answer]), **headers).json()["answers"][0]["result"] == "stored"
    assert reverse("plotcount_correct", args=[count.pk]) in crew_page  # and on the web
    assert PlotCount.objects.current().get().alive == 14


def test_who_measures_again_gets_no_question_about_the_first_record(field):
    """Neither the second person with an account nor whoever holds a link: nobody knows who that is."""
    blind = factories.person("volunteer", first_name="Ben", last_name="Walker")
    field.planting.crew.add(blind)
    link = ways(field)[1]
    second_draw_make(actor=field.lead, census_round=field.round, count=1, measurer=blind)
    client = Client()
    client.force_login(blind)
    address = reverse("census_phone_data", args=[field.round.pk])
    assert client.get(address).json()["questions"] == [] == link[1].get(link[2], headers=link[3]).json()["questions"]
    assert len(crew_of(field).get(address).json()["questions"]) == 1


def test_a_part_of_a_large_planting_counts_trees_asked_back_as_left(field, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 5)
    monkeypatch.setattr(phone_data, "PART_TREES_MOST", 4)
    head = crew_of(field).get(reverse("census_phone_data", args=[field.round.pk]), {"part": ""}).json()
    assert [part[4:6] for part in head["parts"]] == [[4, 4], [2, 2]]


def test_the_crew_answers_on_the_web_too(field):
    """Whoever of the crew looks again corrects the record that was asked back, also after the window; any other record stays theirs."""
    _name, client, _address, _headers = ways(field)[0]
    page = client.get(reverse("observation_correct", args=[field.record.pk]))
    values = {"status": "A", "observed_on": field.record.observed_on.isoformat(), "height_cm": "94", "reason": "read again"}
    assert page.status_code == 200
    assert client.post(reverse("observation_correct", args=[field.record.pk]), values).status_code == 302
    answer = Observation.objects.current().get()
    assert answer.height_cm == 94
    assert client.get(reverse("observation_correct", args=[answer.pk])).status_code == 404
