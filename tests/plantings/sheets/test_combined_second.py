"""A second sheet beside one of several kinds: joined by a key, by the command and on the page."""

import io
import json

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from plantings.models import Block
from registry.imports.sheets.reading_options import SheetError
from registry.models import SheetUpload
from tests import factories
from tests.plantings.sheets.combined_sheet import BESIDE, JOINED, KINDS, PLOTS, POINTS, load, sheet

pytestmark = pytest.mark.django_db


def test_a_second_sheet_is_joined_by_a_key(tmp_path):
    factories.person("lead")
    for name, content in (("trees.csv", sheet()), ("plots.csv", PLOTS), ("all.json", json.dumps(JOINED).encode())):
        (tmp_path / name).write_bytes(content)
    out = io.StringIO()
    call_command("load", "combined", tmp_path / "trees.csv", columns=tmp_path / "all.json", stdout=out)
    assert "1 row without a partner in “plots”" in out.getvalue()
    assert Block.objects.values_list("code", "longitude", "latitude").get() == ("1", -73.2, 44.4)


def test_hidden_rows_of_a_second_sheet_are_named_with_it():
    book = openpyxl.Workbook()
    for row in (["Block", "Lon", "Lat"], ["1", -73.2, 44.4], ["2", -73.3, 44.5]):
        book.active.append(row)
    book.active.row_dimensions[2].hidden = True
    buffer = io.BytesIO()
    book.save(buffer)
    beside = {"second_sheets": {"plots": {"file": "plots.xlsx", "by": {"Plot": "Block"}}}}
    notes = load(sheet(), JOINED | beside, files={"plots.xlsx": buffer.getvalue()}).notes
    assert any(note.startswith("Second sheet “plots”: Row 2 of sheet 'Sheet' is hidden in the workbook") for note in notes)
    assert Block.objects.filter(longitude=-73.2).exists()


@pytest.mark.parametrize("key", ["Block\nno.", "Block no."])
def test_a_second_sheet_is_joined_by_a_header_broken_over_lines(key):
    plots = PLOTS.replace(b"Block", b'"Block\nno."')
    by = {"second_sheets": {"plots": {"file": "plots.csv", "by": {"Plot": key}}}}
    load(sheet(), JOINED | by, files={"plots.csv": plots})
    assert Block.objects.filter(longitude__isnull=False).exists()


@pytest.mark.parametrize(
    ("plots", "given", "says"),
    [
        (None, {}, "“plots” is in plots.csv, which was not sent"),
        (PLOTS + b"1,-73.9,44.9\n", {}, "plots.csv, rows 2 and 4 are both “1” and differ"),
        (PLOTS, {"by": {"Plot": "Name"}}, "joins by “Name”, but plots.csv has: Block, Lon, Lat"),
        (PLOTS, {"by": {"Place": "Block"}}, "joins by “Place”, but trees.csv has"),
        (PLOTS, {"by": "Plot"}, '"second_sheets" of the mapping is'),
    ],
)
def test_a_second_sheet_that_cannot_be_joined_is_refused_in_words(plots, given, says):
    spec = JOINED | {"second_sheets": {"plots": BESIDE["second_sheets"]["plots"] | given}}
    with pytest.raises(SheetError, match=says):
        load(sheet(), spec, files={"plots.csv": plots} if plots else {})


def test_the_page_takes_second_sheets_and_stores_them_with_the_first(client):
    client.force_login(factories.person("lead"))
    feature = {"type": "Feature", "properties": {"Nr": "1"}, "geometry": {"type": "Point", "coordinates": [-73.25, 44.45]}}
    second = {"second_sheets": BESIDE["second_sheets"] | {"map": {"file": "plots.geojson", "by": {"Plot": "Nr"}}}}
    block = POINTS["block"]["columns"] | {"latitude": "map.Latitude (degrees, WGS 84)"}
    spec = JOINED | second | {"parts": KINDS | {"block": POINTS["block"] | {"columns": block}}}
    files = {"file": ("trees.csv", sheet()), "mapping": ("all.json", json.dumps(spec).encode())}
    beside = [SimpleUploadedFile("plots.csv", PLOTS), SimpleUploadedFile("plots.geojson", json.dumps(feature).encode())]
    posted = {name: SimpleUploadedFile(*file) for name, file in files.items()}
    doubled = client.post(reverse("combined_send"), posted | {"second": [SimpleUploadedFile("plots.csv", PLOTS) for _file in range(2)]})
    assert "Two of the files have the name plots.csv" in doubled.content.decode()
    for file in posted.values():
        file.seek(0)
    sent = client.post(reverse("combined_send"), posted | {"second": beside})
    page = client.get(sent.url)
    assert page.context["counts"]["block"]["new"] == 1
    first = SheetUpload.objects.get(kind="combined")
    part = client.get(reverse("combined_part", args=[first.key, "block"]))
    assert part.context["form"].initial["from_longitude"] == "plots.Lon"
    client.post(sent.url, {"shown": page.context["form"].initial["shown"]})
    assert Block.objects.values_list("longitude", "latitude").get() == (-73.2, 44.45)
    assert "plots.csv" not in client.get(reverse("sheet_list")).content.decode()
