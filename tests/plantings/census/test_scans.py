"""Photos of a filled-in field form: stored without what the camera wrote, shown while keying, proved by `verify`."""

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from plantings.models import FormScan
from plantings.services.field_form.pages import form_pages_store
from registry.calc.shared.pictures import PictureFault, plain_jpeg
from registry.models import StoredFile
from registry.selectors.audit.verify import verify_book
from registry.selectors.permits.documents import file_content
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def here(client):
    """(round, a page of its two trees, a volunteer of the crew, who is signed in)."""
    volunteer = factories.person("volunteer")
    planting = factories.planting(crew=[volunteer])
    census_round = factories.census_round(planting)
    trees = factories.trees(planting, count=2)
    [page] = form_pages_store(actor=volunteer, census_round=census_round, pages=[[tree.pk for tree in trees]])
    client.force_login(volunteer)
    return census_round, page, volunteer


def photo(size=(60, 40), place=True, kind="JPEG"):
    """A photo, red at its upper left, that says where it was taken and that it is turned by a quarter."""
    picture = Image.new("RGB", size, "white")
    picture.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: the camera was turned
    if place:
        exif.get_ifd(0x8825)[1] = "N"  # GPS
        exif[0x010E] = "secret garden"
    target = io.BytesIO()
    picture.save(target, kind, exif=exif, comment=b"secret garden")
    return target.getvalue()


def send(client, census_round, *files, code=""):
    data = {"files": [SimpleUploadedFile(name, content) for content, name in files], "page_code": code}
    return client.post(reverse("formscan_add", args=[census_round.pk]), data, follow=True)


def drawn(content):
    return plain_jpeg(content, types=("JPEG", "PNG"), pixels_most=1_000_000, side_most=300)


def test_a_photo_is_made_again_upright_small_and_without_its_place():
    content, *size = drawn(photo((600, 400)))
    with Image.open(io.BytesIO(content)) as made:
        assert list(made.size) == size == [200, 300] and not made.getexif() and b"secret" not in content
        red = made.getpixel((190, 10))
        assert red[0] > 200 and red[1] < 90  # the upper left of the file is the upper right of what was seen
    for wrong in (b"", b"GIF89a", photo()[:200], b"%PDF-1.7"):
        with pytest.raises(PictureFault):
            drawn(wrong)


def test_photos_of_a_page_are_stored_once_and_shown_while_keying(here, client):
    census_round, page, volunteer = here
    answer = send(client, census_round, (photo(), "IMG_1.jpg"), (b"%PDF-1.7 scan", "all.pdf"), code=page.code.lower())
    assert "2 files stored." in answer.content.decode() and answer.request["PATH_INFO"] == reverse("formpage_key", args=[page.pk])
    picture, pdf = FormScan.objects.order_by("pk")
    assert reverse("formscan_file", args=[picture.pk]) in answer.content.decode() and "all.pdf" in answer.content.decode()
    assert b"secret" not in file_content(picture.file) and picture.file.sha256 and (pdf.page, pdf.entered_by) == (page, volunteer)
    shown = client.get(reverse("formscan_file", args=[picture.pk]))
    assert shown.headers["Content-Type"] == "image/jpeg" and shown.headers["Cache-Control"] == "private, no-store"
    assert "attachment" in client.get(reverse("formscan_file", args=[pdf.pk])).headers["Content-Disposition"]
    send(client, census_round, (photo(), "again.jpg"), code=page.code)
    assert FormScan.objects.count() == StoredFile.objects.count() == 2
    assert [fault for check in verify_book() for fault in check.faults] == []
    client.force_login(factories.person("coordinator"))
    assert "IMG_1.jpg" in client.get(reverse("round_detail", args=[census_round.pk])).content.decode()


def test_another_volunteer_of_the_crew_does_not_see_the_photo(here, client):
    census_round, page, _volunteer = here
    send(client, census_round, (photo(), "IMG_1.jpg"), code=page.code)
    other = factories.person("volunteer")
    census_round.planting.crew.add(other)
    client.force_login(other)
    scan = FormScan.objects.get()
    assert client.get(reverse("formscan_file", args=[scan.pk])).status_code == 404
    assert reverse("formscan_file", args=[scan.pk]) not in client.get(reverse("formpage_key", args=[page.pk])).content.decode()


def test_a_file_that_is_no_picture_is_refused_with_all_the_others(here, client):
    census_round, page, _volunteer = here
    answer = send(client, census_round, (photo(), "IMG_1.jpg"), (b"hello", "notes.jpg"))
    assert "notes.jpg cannot be read as a picture" in answer.content.decode() and not FormScan.objects.exists()
    assert "not the code of a page of this round" in send(client, census_round, (photo(), "a.jpg"), code="F1").content.decode()
    assert not FormScan.objects.exists()
