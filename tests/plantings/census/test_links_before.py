"""A further link to a round: with the token of an earlier one, whoever recorded by that corrects their own records, and nobody else's."""

import logging
from urllib.parse import urlencode

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.models import Observation, Photo, PlotCount, RoundLink
from plantings.services.census.round_links import round_link_make
from plantings.services.trees import counted_plot_add
from plantings.views.phone.answers import LINK_HEADER, LINKS_BEFORE_HEADER
from registry.services.land.links import link_revoke
from tests import factories
from tests.plantings.census.phone_batches import body, ms, new_uuid, post, sent
from tests.plantings.census.test_census_batch import Field

pytestmark = pytest.mark.django_db


class Links(Field):
    """Two links to one round, made by two people, and what Mia sent by the first before it was revoked."""

    def __init__(self):
        super().__init__()
        makers = [factories.person("lead", first_name=name, last_name="Lead") for name in ("Ada", "Ben")]
        self.first, self.earlier = self.link(makers[0])
        self.second, self.token = self.link(makers[1])
        self.tree, self.other = (sent(tree, at=timezone.now(), observer="Mia") for tree in self.trees[:2])
        lot = factories.seed_lot()
        plot = counted_plot_add(actor=makers[0], planting=self.planting, code="D1", lot=lot, planted_count=40)
        head = {name: self.tree[name] for name in ("observer", "at", "said", "loaded")}
        self.count = head | {"uuid": new_uuid(), "kind": "plot", "plot": plot.pk, "alive": 31, "dead": 0, "note": ""}
        records = body([self.tree, self.other, self.count])
        answers = post(Client(), reverse("phone_by_link"), records, **{LINK_HEADER: self.earlier}).json()["answers"]
        assert [answer["result"] for answer in answers] == ["stored"] * 3
        link_revoke(actor=makers[0], link=self.first)

    def link(self, maker, census_round=None):
        return round_link_make(actor=maker, census_round=census_round or self.round, for_whom="the school", ends_on=timezone.localdate())

    def headers(self, proof):
        return {LINK_HEADER: self.token} | ({LINKS_BEFORE_HEADER: proof} if proof else {})

    def results(self, *records, proof=""):
        answers = post(Client(), reverse("phone_by_link"), body(list(records)), **self.headers(proof)).json()["answers"]
        return [answer["result"] for answer in answers]

    def photo(self, proof):
        now = ms(timezone.now())
        about = urlencode({"uuid": new_uuid(), "record": self.tree["uuid"], "at": now, "clock": now})
        address = f"{reverse('phone_by_link')}?{about}"
        answer = Client().post(address, factories.jpeg(), content_type="image/jpeg", headers=self.headers(proof))
        return answer.json()["answers"][0]["result"]


@pytest.fixture
def links(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    return Links()


def corrected(record, **fields):
    return record | {"uuid": new_uuid(), "corrects": record["uuid"]} | fields


def test_a_token_of_an_earlier_link_lets_the_same_person_correct(links, caplog):
    caplog.set_level(logging.DEBUG)
    tree, count = corrected(links.tree, status="D", observer=" mia "), corrected(links.count, alive=30)
    assert links.results(links.tree, tree, count) == ["known", "refused", "refused"]
    assert links.photo("") == "refused"
    proof = f"no-link,{links.earlier}"
    assert links.results(corrected(links.other, status="D", observer="Tom"), proof=proof) == ["refused"]
    assert links.results(tree, count, tree, proof=proof) == ["stored", "stored", "known"]
    assert links.photo(proof) == "stored"
    record = Observation.objects.current().get(tree=links.trees[0])
    assert (record.status, record.entered_by, record.supersedes.entered_by) == ("D", links.second.entered_by, links.first.entered_by)
    assert PlotCount.objects.current().get().alive == 30
    assert Photo.objects.get().link == links.second
    assert RoundLink.objects.get(pk=links.second.pk).stored == 2
    assert not [token for token in (links.earlier, links.token) if token in caplog.text]


def test_a_token_proves_nothing_of_another_round_or_of_earlier_records(links):
    correction = corrected(links.tree, status="D")
    other = factories.census_round(links.planting, season=2, opens_on=timezone.localdate(), closes_on=timezone.localdate())
    _link, elsewhere = links.link(links.first.entered_by, other)
    _link, later = links.link(links.first.entered_by)  # made after the records
    assert links.results(correction, proof=f"{elsewhere},{later}") == ["refused"]
    assert links.results(correction, proof=",".join(["é" * 50, *["none"] * 9, links.earlier])) == ["refused"]  # more than are looked at
    assert links.results(correction, proof=links.earlier) == ["stored"]


def test_a_round_is_read_by_a_link_while_others_save(links, monkeypatch):
    def locked(*_given, **_more):
        raise OperationalError("database is locked")

    monkeypatch.setattr("plantings.services.census.round_links.round_link_requested", locked)
    assert Client().get(reverse("phone_by_link"), headers=links.headers("")).json()["round"]["id"] == links.round.pk
    assert RoundLink.objects.get(pk=links.second.pk).minute_requests == 0
    assert links.results(links.tree) == ["known"]
    assert RoundLink.objects.get(pk=links.second.pk).minute_requests == 1  # counted where the batch is stored
