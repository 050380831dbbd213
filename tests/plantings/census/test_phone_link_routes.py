"""What somebody with a link to a round gets from the server and may store by it, and what ends the link."""

import json
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.models import CautionsRead, Observation, RoundLink
from plantings.selectors.census import round_links
from plantings.services.census.round_links import round_link_make
from registry.models import AuditEntry, CautionSeen
from registry.services.land.links import link_revoke
from tests import factories
from tests.plantings.census.phone_batches import body, by_link, new_uuid, post, sent
from tests.plantings.census.test_census_batch import Field

pytestmark = pytest.mark.django_db


@pytest.fixture
def field():
    return Field()


@pytest.fixture
def link(field):
    return by_link(field)


def test_a_link_gives_one_round_and_acts_for_its_maker(field, link):
    made, headers = link
    field.planting.site.access_notes = "Second gate on the left."
    field.planting.site.save()
    data = Client().get(reverse("phone_by_link"), headers=headers).json()
    assert data["round"]["id"] == field.round.pk and data["person"] is None
    assert data["way"]["place"] == "" and "Second gate" not in json.dumps(data)
    record = sent(field.trees[0], at=timezone.now(), observer="Mia")
    read = {name: record[name] for name in ("observer", "at")} | {
        "kind": "cautions",
        "uuid": new_uuid(),
        "wording": data["cautions"]["wording"],
    }
    answers = post(Client(), reverse("phone_by_link"), body([record, read]), **headers).json()["answers"]
    assert [answer["result"] for answer in answers] == ["stored", "stored"]
    reading = CautionsRead.objects.get()
    assert (reading.name, reading.link, reading.entered_by) == ("Mia", made, made.entered_by)
    assert not CautionSeen.objects.exists()  # whoever made the link has read nothing
    stored = Observation.objects.get()
    assert (stored.entered_by, stored.observer) == (made.entered_by, "Mia")
    made.refresh_from_db()
    assert (made.opened, made.stored) == (1, 2)
    assert {entry.reason for entry in AuditEntry.objects.order_by("-pk")[:2]} == {f"link to {field.round} for the school"}


def test_a_link_shows_the_place_only_where_its_maker_said_so(field):
    field.planting.site.access_notes = "Second gate on the left."
    field.planting.site.save()
    _made, token = round_link_make(
        actor=factories.person("lead"), census_round=field.round, for_whom="A", ends_on=timezone.localdate(), shows_place=True
    )
    data = Client().get(reverse("phone_by_link"), headers={"X-Round-Link": token}).json()
    assert "Second gate" in json.dumps(data["safety"]) and data["way"]["access"] == "Second gate on the left."
    assert data["way"]["geo"].startswith("geo:")
    french = data["local"]["fr"]["safety"]["emergency"]
    assert french[-1] == "En anglais\N{NO-BREAK SPACE}: The way in: Second gate on the left."


def test_a_record_by_a_link_says_who_looked(field, link):
    record = sent(field.trees[0], at=timezone.now(), observer=" ")
    [answer] = post(Client(), reverse("phone_by_link"), body([record]), **link[1]).json()["answers"]
    assert (answer["result"], "name" in answer["reason"]) == ("refused", True)


def test_a_link_corrects_what_the_same_person_sent_by_it(field, link):
    record = sent(field.trees[0], at=timezone.now(), observer="Mia")
    own = sent(field.trees[0], "D", at=timezone.now(), observer="Mia", corrects=record["uuid"])
    others = sent(field.trees[0], "D", at=timezone.now(), observer="Tom", corrects=record["uuid"])
    field.round.closes_on = timezone.localdate()
    field.round.save()
    answers = post(Client(), reverse("phone_by_link"), body([record, others, own]), **link[1]).json()["answers"]
    assert [answer["result"] for answer in answers] == ["stored", "refused", "stored"]


@pytest.mark.parametrize("how", ["unknown", "revoked", "ended", "maker left", "maker is a volunteer"])
def test_a_link_that_does_not_work_is_told_from_no_other(field, link, how):
    made, headers = link
    if how == "unknown":
        headers = {"X-Round-Link": "é" * 50}
    elif how == "revoked":
        link_revoke(actor=made.entered_by, link=made)
    elif how == "ended":
        RoundLink.objects.update(ends_on=factories.day(2019))
    else:
        made.entered_by.is_active = how != "maker left"
        made.entered_by.role = "volunteer"
        made.entered_by.save()
    for answer in (
        Client().get(reverse("phone_by_link"), headers=headers),
        post(Client(), reverse("phone_by_link"), body([sent(field.trees[0])]), **headers),
    ):
        assert (answer.status_code, answer.json()["error"][:19]) == (404, "This link does not ")
    assert not Observation.objects.exists()


def test_a_link_is_limited_in_a_minute_and_in_all(field, link, monkeypatch):
    made, headers = link
    monkeypatch.setattr("plantings.services.census.round_links.LINK_REQUESTS_A_MINUTE", 3)
    answers = [Client().get(reverse("phone_by_link"), headers=headers) for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert answers[-1].headers["Retry-After"] == "60"
    RoundLink.objects.update(minute_began_at=two_minutes_ago(), stored=round_links.LINK_RECORDS_A_TREE * 10)
    assert post(Client(), reverse("phone_by_link"), body([sent(field.trees[0], observer="Mia")]), **headers).status_code == 404
    assert Client().get(reverse("phone_by_link"), headers=headers).status_code == 200


def two_minutes_ago():
    return timezone.now() - timedelta(minutes=2)


def test_only_a_hash_of_a_link_is_stored(link):
    made, headers = link
    token = headers["X-Round-Link"]
    made.refresh_from_db()
    assert token not in [str(value) for value in vars(made).values()]
    assert made.token_sha256 == round_links.token_sha256(token)
