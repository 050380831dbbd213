"""A wrong sheet goes back with one more column, is corrected there and sent again: it is read as the first one was."""

import csv
import datetime
import io

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.models import Block, CensusRound
from registry.imports.sheets.formats import write_rows
from registry.imports.sheets.table import TO_CORRECT, read_table
from registry.models import SheetUpload, Taxon
from registry.services.sheets.uploads import mapping_keep
from tests import factories

pytestmark = pytest.mark.django_db

COLUMNS = {"planting": "Planting", "code": "Plot", "longitude": "East", "latitude": "North"}


@pytest.fixture
def lead(client):
    factories.planting(code="P")
    person = factories.person("lead")
    client.force_login(person)
    return person


def send(client, name, content, kind="block"):
    response = client.post(reverse("sheet_send", args=[kind]), {"file": SimpleUploadedFile(name, content)})
    return SheetUpload.objects.get(filename=name), response.url


def mapped(client, upload, name):
    """Choose a saved mapping on the columns page, as it is offered there."""
    page = client.get(reverse("sheet_columns", args=[upload.key]), {"mapping": name})
    assert page.context["error"] == ""
    reading, mapping = page.context["reading"], page.context["mapping"]
    fields = {name: value for name, value in reading.data.items() if value} | {k: v for k, v in mapping.initial.items() if v}
    return client.post(reverse("sheet_columns", args=[upload.key]), fields).url


def returned(client, upload, wanted="csv"):
    return client.get(reverse("sheet_problems", args=[upload.key, wanted])).getvalue()


def store(client, address):
    page = client.get(address)
    assert not page.context["refused"], page.context["parts"]
    client.post(address, {"shown": page.context["form"].initial["shown"]})


def in_csv(content, delimiter=","):
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig")), delimiter=delimiter))


def test_a_returned_csv_with_negative_numbers_loads_again(client, lead):
    text = 'Planting,Block,"Longitude (degrees, WGS 84)","Latitude (degrees, WGS 84)"\nP,1,-73.2,44.4\nP,2,-73.3,94.4\n'
    upload, _url = send(client, "blocks.csv", text.encode())
    back = returned(client, upload)
    rows = in_csv(back)
    assert [row[:4] for row in rows] == in_csv(text.encode())
    assert rows[0][4] == TO_CORRECT and "outside -90 to 90" in rows[2][4]
    # the same headers and the added column: no page asks for the columns again
    again, address = send(client, "again.csv", back.replace(b"94.4", b"44.5"))
    assert address == reverse("sheet_preview", args=[again.key])
    assert not client.get(address).context["columns_left"]
    store(client, address)
    assert list(Block.objects.order_by("code").values_list("longitude", "latitude")) == [(-73.2, 44.4), (-73.3, 44.5)]


def test_a_returned_csv_keeps_semicolons_commas_and_title(client, lead):
    text = "Plots of the hollow;;;\n;;;\nPlanting;Plot;East;North\nP;1;-73,2;44,4\nP;2;-73,3;94,4\n"
    spec = {"columns": COLUMNS, "header_row": 3, "decimal": ","}
    mapping_keep(actor=lead, kind="block", name="hollow", spec=spec)
    upload, _url = send(client, "plots.csv", text.encode())
    mapped(client, upload, "hollow")
    back = returned(client, upload)
    rows = in_csv(back, ";")
    assert rows[0][0] == "Plots of the hollow" and rows[3][:4] == ["P", "1", "-73,2", "44,4"]
    again, _url = send(client, "again.csv", back.replace(b"94,4", b"44,5"))
    store(client, mapped(client, again, "hollow"))
    assert list(Block.objects.order_by("code").values_list("longitude", "latitude")) == [(-73.2, 44.4), (-73.3, 44.5)]


def workbook(rows, title="2024"):
    book = openpyxl.Workbook()
    book.active.title = title
    book.create_sheet("Old").append(["nothing"])
    for row in rows:
        book.active.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_a_returned_workbook_keeps_its_dates_and_its_mapping(client, lead, wanted):
    day, later = datetime.datetime(2024, 9, 1), datetime.datetime(2025, 9, 1)
    content = workbook(
        [["Rounds of 2024"], ["Where", "When", "Age", "From", "To"], ["P", "2024", 3.0, day, day], ["P", "2025", -4, later, later]]
    )
    columns = {"planting": "Where", "label": "When", "growing_seasons": "Age", "opens_on": "From", "closes_on": "To"}
    spec = {"columns": columns, "header_row": 2, "sheet": "2024", "dates": "DD.MM.YYYY"}
    mapping_keep(actor=lead, kind="round", name="rounds", spec=spec)
    upload, _url = send(client, "rounds.xlsx", content, kind="round")
    mapped(client, upload, "rounds")
    back = returned(client, upload, wanted)
    if wanted == "csv":
        assert in_csv(back)[2][3] == "01.09.2024"  # as the mapping declares it; ISO 8601 where nothing is declared
        corrected = back.replace(b"-4", b"4")
    else:
        book = openpyxl.load_workbook(io.BytesIO(back))
        assert book.active.title == "2024" and book.active["D3"].value == day
        book.active["C4"] = 4
        buffer = io.BytesIO()
        book.save(buffer)
        corrected = buffer.getvalue()
    again, _url = send(client, f"again.{wanted}", corrected, kind="round")
    store(client, mapped(client, again, "rounds"))
    rounds = CensusRound.objects.order_by("label").values_list("label", "growing_seasons", "opens_on")
    assert list(rounds) == [("2024", 3, day.date()), ("2025", 4, later.date())]


def test_a_sheet_returned_twice_has_the_column_once(client, lead):
    upload, _url = send(client, "t.csv", b"Binomial,Role here\nJuglans a,nativ\n", kind="taxon")
    again, _url = send(client, "u.csv", returned(client, upload), kind="taxon")
    assert read_table(returned(client, again), "v.csv").headers == ["Binomial", "Role here", TO_CORRECT]


def test_values_of_a_rule_are_found_in_the_returned_sheet(client, lead):
    # "-" would begin a formula, so it goes out as '- ; the rule of the mapping is about "-" all the same
    spec = {"columns": {"name": "=Art", "role": {"from": "Rolle", "values": {"-": "other"}}}}
    mapping_keep(actor=lead, kind="taxon", name="signs", spec=spec)
    table = read_table(write_rows(["=Art", "Rolle"], [["Juglans a", "-"]], "csv"), "a.csv")
    assert table.headers[0] == "=Art" and table.rows[0][1] == "'-"
    upload, _url = send(client, "a.csv", b"=Art,Rolle\nJuglans a,-\n,native\n", kind="taxon")
    mapped(client, upload, "signs")
    back = returned(client, upload)
    again, _url = send(client, "b.csv", back.replace(b"\r\n,native", b"\r\nJuglans b,native"), kind="taxon")
    store(client, mapped(client, again, "signs"))
    assert dict(Taxon.objects.filter(name__in=["Juglans a", "Juglans b"]).values_list("name", "role")) == {
        "Juglans a": "other",
        "Juglans b": "native",
    }


def test_a_mapping_kept_with_a_broken_header_finds_it_again(client, lead):
    spec = {"columns": {"name": "Scientific\nname", "role": {"from": "Role\nhere", "values": {"nativ": "native"}}}}
    mapping_keep(actor=lead, kind="taxon", name="broken", spec=spec)
    upload, _url = send(client, "t.csv", b'"Scientific\nname","Role\nhere"\nJuglans a,nativ\n', kind="taxon")
    store(client, mapped(client, upload, "broken"))
    assert Taxon.objects.get(name="Juglans a").role == "native"
