"""One sheet of several kinds on its pages: sent, shown, mapped part by part, stored and returned."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.models import Observation
from registry.models import ColumnMapping, Load, SheetUpload
from tests import factories
from tests.plantings.sheets.combined_sheet import KINDS, MAPPING, NEW, sheet

pytestmark = pytest.mark.django_db


@pytest.fixture
def sent(client):
    """A sheet that was sent with its mapping file."""
    client.force_login(factories.person("lead"))
    mapping = SimpleUploadedFile("all.json", json.dumps(MAPPING).encode())
    answer = client.post(reverse("combined_send"), {"file": SimpleUploadedFile("trees.csv", sheet()), "mapping": mapping})
    upload = SheetUpload.objects.get()
    assert answer.url == reverse("combined_preview", args=[upload.key])
    return upload


def test_the_page_shows_saves_and_marks_all_kinds(client, sent):
    page = client.get(reverse(sent.preview_route, args=[sent.key]))
    assert {kind: counts["new"] for kind, counts in page.context["counts"].items()} == NEW
    answer = client.post(reverse("combined_preview", args=[sent.key]), {"shown": page.context["form"].initial["shown"]})
    assert answer.url == reverse("load_detail", args=[Load.objects.get().pk]) and Observation.objects.count() == 3
    assert "trees as planted: 3 new" in client.get(reverse("sheet_list")).content.decode()
    again = client.get(reverse("combined_preview", args=[sent.key]))
    assert "Every row is on file already" in again.content.decode()


def test_the_page_shows_every_part_of_a_mapping_and_edits_it(client, sent):
    parts = reverse("combined_parts", args=[sent.key])
    page = client.get(parts)
    assert [kind for kind, *_words in page.context["parts"]] == list(NEW)
    one = client.get(reverse("combined_part", args=[sent.key, "block"])).context["form"]
    saved = {name: field.initial if field.initial is not None else one.initial.get(name, "") for name, field in one.fields.items()}
    assert json.loads(saved["more"]) == {"rows": KINDS["block"]["rows"]}
    client.post(reverse("combined_part", args=[sent.key, "block"]), saved)
    sent.refresh_from_db()
    assert sent.spec == MAPPING
    reading = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD"}
    client.post(parts, reading | {"leave_out": "block", "name": "Trees 2020", "more": '{"rows": [{"column": "Tag", "blank": false}]}'})
    saved = ColumnMapping.objects.get(kind="combined", name="Trees 2020").spec
    assert saved == {"parts": {kind: KINDS[kind] for kind in KINDS if kind != "block"}, "rows": [{"column": "Tag", "blank": False}]}
    assert client.post(parts, reading | {"then": "add", "add": "block"}).url == reverse("combined_part", args=[sent.key, "block"])
    client.post(parts, {"use": "Trees 2020"})
    sent.refresh_from_db()
    assert sent.spec == saved


def test_a_returned_sheet_says_of_each_row_what_to_correct_in_which_kind(client, sent):
    sent.spec = MAPPING | {"dates": "DD.MM.YYYY"}
    sent.save()
    answer = client.get(reverse("combined_problems", args=[sent.key, "csv"]))
    assert "Plantings, Planted on: is not a date" in answer.content.decode("utf-8-sig").splitlines()[1]
