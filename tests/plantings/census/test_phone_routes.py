"""What the page of the phone asks the server: who gets which answer, always in JSON, and what a hostile batch gets."""

import io
import json

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase
from PIL import Image

from plantings.models import Observation, RoundLink
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.trees import counted_plot_add
from plantings.views.phone import data as phone_data
from plantings.views.phone.answers import BATCH_BYTES_MOST
from plantings.views.phone.data import VERSION
from tests import factories
from tests.plantings.census.phone_batches import body, by_link, crew_of, post, sent
from tests.plantings.census.test_census_batch import WITHOUT_SHRINKING, Field

pytestmark = pytest.mark.django_db


@pytest.fixture
def field():
    return Field()


@pytest.fixture
def address(field):
    return reverse("census_phone_data", args=[field.round.pk])


@pytest.fixture
def crew(field):
    return crew_of(field)


def test_a_round_comes_with_trees_in_walk_order_and_without_lots(crew, field, address):
    lot = field.trees[0].entry.lot
    data = crew.get(address).json()
    assert [(tree[0], tree[1]) for tree in data["trees"]] == [(tree.pk, tree.tag) for tree in field.trees]
    assert data["person"] == {"id": field.crew.pk, "name": str(field.crew)}
    assert [code for code, *_words in data["statuses"]] == ["A", "AR", "D", "SU", "NF", "NL", "NV", "RM"]
    assert lot.code not in json.dumps(data) and "check" not in json.dumps(data["trees"])


def test_a_round_comes_with_what_was_read_last(crew, field, address):
    earlier = factories.census_round(field.planting, 2, label="before", opens_on=factories.day(2019, 5), closes_on=factories.day(2019, 6))
    factories.observe(earlier, {field.trees[0]: "A"}, height_cm=120.5, canker_class=1)
    factories.observe(field.round, {field.trees[1]: "D"})
    data = crew.get(address).json()
    assert data["last"] == {str(field.trees[0].pk): ["A", {"height_cm": [120.5, "2019-05-01"]}]}
    short = crew.get(f"{address}?days=once").json()
    assert short["last"] == {str(field.trees[0].pk): ["A", {"height_cm": 120.5}, "2019-05-01"]}
    assert data["settled"] == [field.trees[1].pk]


def test_a_large_planting_comes_in_parts_to_a_page_that_asks_for_them(crew, field, address, monkeypatch):
    monkeypatch.setattr(phone_data, "WHOLE_TREES_MOST", 5)
    monkeypatch.setattr(phone_data, "PART_TREES_MOST", 4)
    factories.observe(field.round, {field.trees[5]: "D"})
    whole = crew.get(address).json()  # of a page that was stored before there were parts
    assert (len(whole["trees"]), whole["parts"]) == (6, [])
    for client, where, headers in ((crew, address, {}), (Client(), reverse("phone_by_link"), by_link(field)[1])):
        head = client.get(where, {"part": ""}, headers=headers).json()
        assert (head["trees"], head["last"], head["settled"]) == ([], {}, [])
        assert [part[4:6] for part in head["parts"]] == [[4, 4], [2, 1]]
        parts = [client.get(where, {"part": key}, headers=headers).json() for key, *_rest in head["parts"]]
        assert [tree for part in parts for tree in part["trees"]] == whole["trees"]
        assert [part["edition"] for part in parts] == [part[6] for part in head["parts"]]
        assert [part["settled"] for part in parts] == [[], [field.trees[5].pk]]
        assert client is crew or RoundLink.objects.get().opened == 1  # a part is not another time
        answer = client.get(where, {"part": "gone/1"}, headers=headers)
        assert (answer.status_code, "Load the page again" in answer.json()["error"]) == (410, True)


def test_plots_come_without_their_lot_and_with_what_is_counted(crew, field, address):
    lot = factories.seed_lot()
    plots = [
        counted_plot_add(actor=factories.person(), planting=field.planting, code=code, lot=lot, planted_count=40) for code in ("D1", "D2")
    ]
    plot_count_record(actor=field.crew, census_round=field.round, plot=plots[1], alive=7, observed_on=field.round.opens_on)
    data = crew.get(address).json()
    assert (data["plots"], data["counted"]) == ([[plot.pk, plot.code, 40] for plot in plots], [plots[1].pk])
    assert lot.code not in json.dumps(data)


def test_an_answer_is_never_stored_and_never_a_redirect(field, address):
    for client in (Client(), crew_of(field)):
        for answer in (client.get(address), client.get(reverse("census_phone_ping")), post(client, address, body([]))):
            assert answer.headers["Cache-Control"] == "no-store"
            assert answer.headers["Content-Type"] == "application/json"
            assert answer.status_code in {200, 401}


def test_a_session_that_ended_gets_words(address):
    answer = post(Client(), address, body([]))
    assert (answer.status_code, answer.json()["error"][:20]) == (401, "You are signed out. ")


def test_who_was_taken_off_the_crew_keeps_the_records_and_is_told(crew, field, address):
    record = sent(field.trees[0], at=timezone.now())
    field.planting.crew.remove(field.crew)
    answer = post(crew, address, body([record]))
    assert (answer.status_code, "stays on this phone" in answer.json()["error"]) == (404, True)
    field.planting.crew.add(field.crew)
    assert post(crew, address, body([record])).json()["answers"][0]["result"] == "stored"


def test_a_batch_needs_the_token_that_the_ping_gives(field, address):
    client = Client(enforce_csrf_checks=True)
    client.force_login(field.crew)
    record = sent(field.trees[0], at=timezone.now())
    refused = post(client, address, body([record]))
    assert (refused.status_code, "Open Mastbook at its usual address" in refused.json()["error"]) == (403, True)
    token = client.get(reverse("census_phone_ping")).json()["csrf"]
    answer = post(client, address, body([record]), **{"X-CSRFToken": token})
    assert answer.json()["answers"] == [{"uuid": record["uuid"], "result": "stored", "reason": ""}]


@pytest.mark.parametrize(
    "content",
    [
        "", "null", "[]", "7", "{", '{"version": 1', "\xff", '{"records": NaN}', "[" * 100_000, '{"a":' * 50_000, json.dumps({"version": VERSION, "records": []}),
        json.dumps({"version": VERSION, "clock": "now", "records": []}), json.dumps({"version": VERSION, "clock": 1, "records": {}}),
        json.dumps({"version": 0, "clock": 1, "records": []}), json.dumps({"version": VERSION, "clock": 1, "records": [{}] * 201}),
        '{"version": 1, "clock": ' + "9" * 5_000 + ', "records": []}',
    ],
    ids=lambda one: one[:25] or "nothing",
)  # fmt: skip
def test_what_is_no_batch_gets_a_sentence(crew, address, content):
    answer = post(crew, address, content)
    assert answer.status_code == 400
    assert answer.json()["error"].endswith(".")


def test_a_batch_that_is_too_large_is_refused_unread(crew, address):
    for size in (BATCH_BYTES_MOST + 1, 3_000_000):
        answer = post(crew, address, "x" * size)
        assert (answer.status_code, answer.json()["error"][:28]) == (413, "This batch is too large. Sen")


def test_the_largest_batch_of_a_phone_is_taken(crew, field, address):
    """200 records with all that the boxes of the page hold; the letters of notes and names take four bytes each."""
    letter = "\N{DECIDUOUS TREE}"
    values = {"height_cm": 142.5, "diameter_mm": 12.5, "canker_class": 1, "dieback_percent": 10, "browse_class": "light"}
    records = [
        sent(field.trees[number % 6], at=timezone.now(), values=values, note=letter * 900, observer=letter * 120) for number in range(200)
    ]
    text = json.dumps(body(records), ensure_ascii=False)
    assert {answer["reason"] for answer in post(crew, address, text).json()["answers"]} == {""}
    assert Observation.objects.count() == 200


def test_the_page_holds_nothing_of_anybody_and_may_start_its_worker(crew, field):
    own, home = crew.get(reverse("census_phone", args=[field.round.pk])), Client().get(reverse("phone_home"))
    assert own.content == home.content
    assert str(field.crew) not in own.content.decode() and "csrf" not in own.content.decode().lower().replace("x-csrftoken", "")
    policy = own.headers["Content-Security-Policy"]
    assert "worker-src 'self'" in policy and "trusted-types mastbook-phone" in policy and "script-src 'self'" in policy
    assert "unsafe" not in policy
    assert "camera=(self)" in home.headers["Permissions-Policy"]
    assert "camera=()" in crew.get(reverse("today")).headers["Permissions-Policy"]  # and no other page may use one


def test_the_worker_names_files_that_are_there(client):
    script = client.get(reverse("phone_worker"))
    assert script.headers["Cache-Control"] == "no-cache"
    given = json.loads(script.content.decode().split("\n")[0].removeprefix("const GIVEN = ").removesuffix(";"))
    answers = {address: client.get(address).status_code for address in given["files"]}
    assert len(answers) > 10 and set(answers.values()) == {200}
    manifest = client.get(reverse("phone_manifest")).json()
    assert manifest["scope"] == reverse("phone_home")
    pictures = [icon for icon in manifest["icons"] if icon["type"] == "image/png"]
    assert {(icon["sizes"], icon["purpose"]) for icon in pictures} == {
        (size, purpose) for size in ("192x192", "512x512") for purpose in ("any", "maskable")
    }
    for icon in pictures:
        found = Image.open(io.BytesIO(b"".join(client.get(icon["src"]).streaming_content)))
        assert (found.format, "{}x{}".format(*found.size)) == ("PNG", icon["sizes"])


_NESTED = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20),
    lambda inside: (
        st.lists(inside, max_size=4)
        | st.dictionaries(st.sampled_from(["uuid", "tree", "status", "values", "note", "at", "x"]), inside, max_size=5)
    ),
    max_leaves=12,
)


class HostileBatches(TestCase):
    @classmethod
    def setUpTestData(cls):
        cls.field = Field()

    @settings(max_examples=25, deadline=None, phases=WITHOUT_SHRINKING, suppress_health_check=list(HealthCheck))
    @given(st.lists(_NESTED, max_size=6), st.integers(0, 400), st.booleans())
    def test_no_batch_breaks_the_server_or_holds_back_a_good_record(self, junk, cut, is_cut):
        field, client = self.field, crew_of(self.field)
        good = sent(field.trees[0], at=timezone.now())
        text = json.dumps(body([*junk, good]))
        answer = post(client, reverse("census_phone_data", args=[field.round.pk]), text[:-cut] if is_cut and cut else text)
        if is_cut and cut:
            assert answer.status_code == 400 and answer.json()["error"]
            assert not Observation.objects.exists()
        else:
            assert [item["result"] for item in answer.json()["answers"]] == ["refused"] * len(junk) + ["stored"]
            assert all(item["reason"] for item in answer.json()["answers"][:-1])
