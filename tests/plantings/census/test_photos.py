"""Photos that come after their record: stored once, for who may send and see them, as the picture and nothing else."""

import errno
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlencode

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.calc.census.photos import PHOTO_BYTES_MOST, PHOTOS_A_RECORD
from plantings.models import CensusRound, Observation, Photo
from plantings.selectors.plantings import photos as photo_selectors
from plantings.services.census.reviews import records_review
from plantings.services.census.round_links import round_link_make
from registry.disk import whole_files
from registry.models import AuditEntry
from registry.selectors.audit.verify import check_files, check_records
from registry.selectors.permits.documents import file_content, stored_path
from registry.services.land.links import link_revoke
from tests import factories
from tests.factories import jpeg
from tests.plantings.census.phone_batches import body, ms, new_uuid, post, sent
from tests.plantings.census.test_census_batch import Field

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)


class Phone:
    """A crew with a record that the server has, and its photo."""

    def __init__(self):
        self.field = Field()
        self.client = Client()
        self.client.force_login(self.field.crew)
        self.address = reverse("census_phone_data", args=[self.field.round.pk])
        self.headers = {}
        self.record = self.recorded(self.field.trees[0])

    def recorded(self, tree, **fields):
        record = sent(tree, at=timezone.now(), **fields)
        [answer] = post(self.client, self.address, body([record]), **self.headers).json()["answers"]
        assert (answer["result"], answer["reason"]) == ("stored", "")
        return record["uuid"]

    def send(self, content=None, **about):
        now = ms(timezone.now())
        about = {"uuid": new_uuid(), "record": self.record, "at": now - 60_000, "clock": now} | about
        content = jpeg() if content is None else content
        return self.client.post(f"{self.address}?{urlencode(about)}", content, content_type="image/jpeg", headers=self.headers)

    def result(self, *given, **about):
        response = self.send(*given, **about)
        assert response.status_code == 200
        [answer] = response.json()["answers"]
        assert bool(answer["reason"]) == (answer["result"] == "refused")
        return answer["result"]


@pytest.fixture
def phone():
    return Phone()


def test_a_photo_is_stored_once_as_the_picture_and_nothing_else(phone):
    uuid = new_uuid()
    before = AuditEntry.objects.count()
    assert [phone.result(uuid=uuid) for _time in range(3)] == ["stored", "known", "known"]
    photo = Photo.objects.get()
    assert (photo.observation.uuid, photo.entered_by, photo.link, photo.width, photo.height) == (
        Observation.objects.get().uuid, phone.field.crew, None, 60, 80,
    )  # fmt: skip
    assert b"At the gate" not in file_content(photo.file) and photo.file.content_type == "image/jpeg"
    assert 59 <= (timezone.now() - photo.taken_at).total_seconds() < 600
    assert AuditEntry.objects.count() == before + 1
    assert check_records().faults == check_files().faults == []


def test_an_identifier_with_other_bytes_or_another_record_is_refused(phone):
    uuid = new_uuid()
    assert phone.result(uuid=uuid) == "stored"
    assert phone.result(jpeg(41), uuid=uuid) == "refused"
    assert phone.result(uuid=uuid, record=phone.recorded(phone.field.trees[1])) == "refused"
    assert Photo.objects.count() == 1


def test_only_a_stored_record_of_ones_own_takes_photos_and_only_a_few(phone):
    assert phone.result(record=new_uuid()) == "refused"
    other = factories.person("volunteer")
    phone.field.planting.crew.add(other)
    phone.client.force_login(other)
    assert phone.result() == "refused"
    phone.client.force_login(phone.field.crew)
    assert [phone.result(jpeg(shade)) for shade in range(PHOTOS_A_RECORD + 1)] == ["stored"] * PHOTOS_A_RECORD + ["refused"]
    elsewhere = factories.census_round(phone.field.planting, 3)
    phone.address = reverse("census_phone_data", args=[elsewhere.pk])
    assert phone.result() == "refused"


def test_what_is_no_photo_is_refused_in_words(phone):
    for content in (b"GIF89a", jpeg()[:200], b"x" * (PHOTO_BYTES_MOST + 1), b"x" * 3_000_000):
        assert phone.result(content) == "refused"
    assert phone.result(at="yesterday") == "refused"
    assert not Photo.objects.exists()


def test_a_full_disk_of_the_server_makes_the_phone_send_again(phone, monkeypatch):
    def refuse(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(whole_files.os, "fsync", refuse)
        answer = phone.send()
    assert (answer.status_code, "sent later" in answer.json()["error"]) == (503, True)
    assert not Photo.objects.exists()
    assert phone.result() == "stored"


def test_who_is_signed_out_or_off_the_crew_is_told_and_nothing_is_stored(phone):
    client = Client(enforce_csrf_checks=True)
    client.force_login(phone.field.crew)
    assert client.post(phone.address, jpeg(), content_type="image/jpeg").status_code == 403
    phone.field.planting.crew.clear()
    assert phone.send().status_code == 404
    phone.client.logout()
    assert phone.send().status_code == 401
    assert not Photo.objects.exists()


def test_a_link_stores_photos_of_its_own_records_until_it_ends(phone, monkeypatch):
    lead = factories.person("lead")
    made, token = round_link_make(actor=lead, census_round=phone.field.round, for_whom="the school", ends_on=timezone.localdate())
    own = phone.record
    phone.client, phone.address, phone.headers = Client(), reverse("phone_by_link"), {"X-Round-Link": token}
    assert phone.result(record=own) == "refused"  # a record of the crew
    phone.record = phone.recorded(phone.field.trees[1], observer="Mia")
    assert phone.result() == "stored"
    photo = Photo.objects.get()
    assert (photo.link, photo.entered_by) == (made, lead)
    assert AuditEntry.objects.order_by("pk").last().reason == f"link to {phone.field.round} for the school"
    monkeypatch.setattr(photo_selectors, "PHOTOS_A_RECORD", 0)
    assert phone.result(jpeg(1)) == "refused"
    link_revoke(actor=lead, link=made)
    assert phone.send().status_code == 404


def test_who_sees_the_record_sees_its_photo_and_asks_each_time(phone, client):
    phone.result()
    address = reverse("photo_file", args=[Photo.objects.get().pk])
    client.force_login(phone.field.crew)
    answer = client.get(address)
    assert (answer.headers["Content-Type"], answer.headers["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert answer.headers["Cache-Control"] == "private, no-cache"
    assert client.get(address, headers={"If-None-Match": answer.headers["ETag"]}).status_code == 304
    client.force_login(factories.person("volunteer"))
    assert client.get(address, headers={"If-None-Match": answer.headers["ETag"]}).status_code == 404


def test_a_photo_is_shown_with_its_tree_its_round_and_in_the_queue(phone, client):
    phone.result()
    phone.record = phone.recorded(phone.field.trees[1], status="D", cause="deer", values={"height_cm": 900})
    phone.result(jpeg(1))
    first, odd = Photo.objects.order_by("pk")
    lead = factories.person("lead")
    client.force_login(lead)
    records_review(actor=lead, observations=[first.observation], state="rejected", reason="wrong tree")
    shown = client.get(reverse("tree_detail", args=[first.observation.tree_id])).content.decode()
    assert reverse("photo_file", args=[first.pk]) in shown and "Its record was corrected or rejected." in shown
    queue = client.get(reverse("round_review", args=[phone.field.round.pk])).content.decode()
    assert reverse("photo_file", args=[odd.pk]) in queue
    of_round = reverse("round_photos", args=[phone.field.round.pk])
    assert of_round in client.get(reverse("round_detail", args=[phone.field.round.pk])).content.decode()
    assert [row.split(",")[-1] for row in client.get(of_round, {"download": "csv"}).content.decode().splitlines()[-2:]] == [
        first.file.sha256, odd.file.sha256,
    ]  # fmt: skip


def test_a_corrected_record_is_reviewed_beside_the_photo_of_the_first(phone, client):
    today, census_round = timezone.localdate(), phone.field.round
    CensusRound.objects.filter(pk=census_round.pk).update(opens_on=today - timedelta(days=2), closes_on=today)  # a crew corrects its own
    odd = {"status": "D", "cause": "deer"}
    phone.record = first = phone.recorded(phone.field.trees[1], values={"height_cm": 900}, **odd)
    phone.result(jpeg(1))
    again = phone.recorded(phone.field.trees[1], values={"height_cm": 901}, corrects=first, **odd)
    phone.recorded(phone.field.trees[1], values={"height_cm": 902}, corrects=again, **odd)
    client.force_login(factories.person("lead"))
    queue = client.get(reverse("round_review", args=[phone.field.round.pk])).content.decode()
    assert reverse("photo_file", args=[Photo.objects.get().pk]) in queue


def test_the_queue_shows_the_photo_of_every_record_that_waits(phone, client):
    """Of a clean record and of one that was asked back too, each with a box to tick."""
    today = timezone.localdate()
    CensusRound.objects.filter(pk=phone.field.round.pk).update(opens_on=today - timedelta(days=2), closes_on=today)
    phone.result()
    phone.record = phone.recorded(phone.field.trees[1])
    phone.result(jpeg(1))
    clean, asked = (photo.observation for photo in Photo.objects.order_by("pk"))
    lead = factories.person("lead")
    client.force_login(lead)
    records_review(actor=lead, observations=[asked], state="asked_back", reason="which tree?")
    page = client.get(reverse("round_review", args=[phone.field.round.pk]))
    assert [(line["pk"], line["state"]) for line in page.context["photographed"]] == [(clean.pk, ""), (asked.pk, "asked back")]
    text = page.content.decode()
    for photo in Photo.objects.all():
        assert text.count(f'<img src="{reverse("photo_file", args=[photo.pk])}"') == 1
        assert f'name="record" value="{photo.observation_id}"' in text
    client.post(reverse("round_review", args=[phone.field.round.pk]), {"record": clean.pk, "decision": "rejected", "reason": "a beech"})
    assert [line["pk"] for line in client.get(reverse("round_review", args=[phone.field.round.pk])).context["photographed"]] == [asked.pk]


def test_a_missing_or_altered_photo_is_noticed(phone, client):
    phone.result()
    photo = Photo.objects.get()
    path = Path(default_storage.path(stored_path(photo.file.sha256)))
    path.write_bytes(b"another picture")
    [fault] = check_files().faults
    assert photo.observation.tree.tag in fault and "its content was changed" in fault
    client.force_login(phone.field.crew)
    assert client.get(reverse("photo_file", args=[photo.pk])).status_code == 404


def test_a_photo_saved_on_a_phone_is_added_by_the_office_once(phone, client):
    record = Observation.objects.get()
    client.force_login(factories.person("coordinator"))
    address = reverse("observation_photo", args=[record.pk])
    assert address in client.get(reverse("tree_detail", args=[record.tree_id])).content.decode()

    def add(content):
        return client.post(address, {"file": SimpleUploadedFile("photo.jpg", content)})

    assert add(jpeg()).url == reverse("tree_detail", args=[record.tree_id])
    for content, words in ((jpeg(), "has the photo already"), (b"GIF89a", "damaged or not a JPEG")):
        assert words in add(content).content.decode()
    photo = record.photos.get()
    assert (timezone.localtime(photo.taken_at).date(), photo.link) == (record.observed_on, None)
