"""The pages of a sheet: which sheet of a workbook, which header row, too large a file, who may load what."""

import errno
import html
import io
from pathlib import Path

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.imports import loading
from plantings.imports.kinds import KINDS, SHEETS
from registry.disk import whole_files
from registry.imports.sheets.table import read_table
from registry.models import SheetUpload, SpeciesHandbook, Taxon
from registry.services.sheets.uploads import mapping_keep, upload_keep
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def send(client, name, content, kind="taxon"):
    return client.post(reverse("sheet_send", args=[kind]), {"file": SimpleUploadedFile(name, content)})


def workbook():
    book = openpyxl.Workbook()
    book.active.title = "Notes"
    book.active.append(["nothing here"])
    book.active.append(["really"])
    sheet = book.create_sheet("Species")
    for row in (["List of species"], [], ["Art", "Rolle"], ["Juglans a", "native"]):
        sheet.append(row)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def test_sheet_and_header_row_are_chosen_on_the_page(client, lead):
    response = send(client, "species.xlsx", workbook())
    upload = SheetUpload.objects.get()
    columns = reverse("sheet_columns", args=[upload.key])
    assert response.url == columns
    page = client.get(columns, {"sheet": "Species", "header_row": 3, "decimal": ".", "dates": "YYYY-MM-DD"})
    assert page.context["first_rows"][0] == ["Art", "Rolle"]
    fields = {"sheet": "Species", "header_row": 3, "decimal": ".", "dates": "YYYY-MM-DD", "from_name": "Art", "from_role": "Rolle"}
    assert client.post(columns, fields).url == reverse("sheet_preview", args=[upload.key])
    client.post(reverse("sheet_preview", args=[upload.key]), {"shown": "1 new"})
    assert Taxon.objects.get().name == "Juglans a"


def test_the_preview_names_hidden_rows_and_saves_them(client, lead):
    book = openpyxl.Workbook()
    for row in (["Name", "Role"], ["Juglans a", "native"], ["Juglans b", "donor"], ["Juglans c", "native"]):
        book.active.append(row)
    book.active.row_dimensions[3].hidden = book.active.row_dimensions[4].hidden = True
    buffer = io.BytesIO()
    book.save(buffer)
    send(client, "species.xlsx", buffer.getvalue())
    preview = reverse("sheet_preview", args=[SheetUpload.objects.get().key])
    page = client.get(preview)
    said = "Rows 3–4 of sheet 'Sheet' are hidden in the workbook, by a filter or by hand; they are read like the others."
    assert said in html.unescape(page.content.decode()) and page.context["shown"] == "3 new"
    client.post(preview, {"shown": "3 new"})
    assert Taxon.objects.count() == 3


def test_a_sheet_that_a_full_disk_refuses_gets_a_sentence(client, lead, monkeypatch):
    def refuse(_handle):
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(whole_files.os, "fsync", refuse)
        page = send(client, "species.csv", b"name,role\nJuglans a,native\n")
    assert page.status_code == 200 and "species.csv was not saved: the disk of the server is full." in page.content.decode()
    assert not SheetUpload.objects.exists()


def test_a_stored_sheet_that_was_changed_is_not_used(client, lead):
    send(client, "species.csv", b"Binomial,Role\nJuglans a,native\n")
    upload = SheetUpload.objects.get()
    Path(upload.file.path).write_bytes(b"Binomial,Role\nJuglans b,native\n")
    page = client.get(reverse("sheet_preview", args=[upload.key]))
    assert "The stored copy of species.csv cannot be used: its content was changed. Upload the sheet again." in page.content.decode()
    assert client.get(reverse("sheet_columns", args=[upload.key])).status_code == 404
    client.post(reverse("sheet_preview", args=[upload.key]), {"shown": "1 new"})
    assert not Taxon.objects.exists()


def test_a_file_over_the_limit_is_refused_before_it_is_read(client, lead, settings):
    settings.SHEET_MAX_BYTES = 1_000_000
    page = send(client, "big.csv", b"x" * 1_000_001)
    assert "the limit is 1 MB" in page.content.decode()
    assert not SheetUpload.objects.exists()


def test_nothing_is_saved_when_records_changed_after_the_preview(client, lead):
    send(client, "taxa.csv", b"Binomial,Role here\nJuglans a,native\n")
    upload = SheetUpload.objects.get()
    address = reverse("sheet_preview", args=[upload.key])
    form = client.get(address).context["form"]
    factories.taxon(name="Juglans a", role="donor")
    page = client.post(address, {"shown": form.initial["shown"]})
    assert Taxon.objects.get().role == "donor"
    # the row would now change the records: the page says so, and asks for a reason
    assert "records changed after this preview was made" in page.content.decode()
    assert "reason" in page.context["form"].fields
    client.post(address, {"shown": page.context["form"].initial["shown"], "reason": "role was entered wrong"})
    assert Taxon.objects.get().role == "native"


def test_a_sheet_is_stored_and_marked_as_saved_or_neither(lead, monkeypatch):
    upload = upload_keep(actor=lead, kind="taxon", content=b"Binomial,Role here\nJuglans a,native\n", filename="taxa.csv")
    _sheet, _table, plan = loading.plan_file("taxon", loading.upload_content(upload), upload.filename, {})

    def stops(**entry):
        raise RuntimeError("the program stopped")

    with monkeypatch.context() as patch, pytest.raises(RuntimeError, match="the program stopped"):
        patch.setattr(loading, "audit_record", stops)
        loading.upload_load(actor=lead, upload=upload, shown=plan.summary())
    assert not Taxon.objects.exists() and SheetUpload.objects.get().loaded_at is None
    loading.upload_load(actor=lead, upload=upload, shown=plan.summary())
    assert Taxon.objects.count() == 1 and SheetUpload.objects.get().loaded_at is not None
    with pytest.raises(loading.RecordsChanged):  # the same button pressed twice
        loading.upload_load(actor=lead, upload=upload, shown=plan.summary())
    assert Taxon.objects.count() == 1


def test_a_manager_loads_lots_but_not_the_census(client):
    client.force_login(factories.person("manager"))
    assert client.get(reverse("sheet_send", args=["lot"])).status_code == 200
    assert client.get(reverse("sheet_send", args=["census"])).status_code == 403
    assert client.get(reverse("sheet_export", args=["census", "csv"])).status_code == 403
    assert client.get(reverse("sheet_send", args=["no_such_kind"])).status_code == 404


def test_a_saved_mapping_is_offered_the_next_time(client, lead):
    send(client, "a.csv", b"Art,Rolle\nJuglans a,native\n")
    upload = SheetUpload.objects.get()
    reading = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD"}
    client.post(reverse("sheet_columns", args=[upload.key]), reading | {"from_name": "Art", "from_role": "Rolle", "name": "our species"})
    send(client, "b.csv", b"Art,Rolle\nJuglans b,donor\n")
    second = SheetUpload.objects.exclude(pk=upload.pk).get()
    page = client.get(reverse("sheet_columns", args=[second.key]))
    assert "our species" in page.content.decode()
    page = client.get(reverse("sheet_columns", args=[second.key]), {"mapping": "our species"})
    assert page.context["mapping"].initial["from_name"] == "Art"


def test_unlisted_parents_are_declared_on_the_page(client, lead):
    factories.taxon(name="Juglans cinerea")
    send(client, "trees.csv", b"Tag,Dam\nC,A\n", kind="pedigree_tree")
    upload = SheetUpload.objects.get()
    address = reverse("sheet_columns", args=[upload.key])
    data = {"header_row": 1, "decimal": ".", "dates": "YYYY-MM-DD", "from_code": "Tag", "from_mother": "Dam", "name": "ours"}
    data |= {f"from_{name}": "=" for name in ("taxon", "generation")} | {"value_taxon": "Juglans cinerea", "value_generation": "native"}
    wrong = client.post(address, data | {"unlisted_parents": "native"})
    assert wrong.context["mapping"].errors["unlisted_parents"] == ["Line 1 ('native') is not 'our column = value'."]
    client.post(address, data | {"unlisted_parents": "taxon = Juglans cinerea\ngeneration = native"})
    upload.refresh_from_db()
    assert upload.spec["unlisted_parents"] == {"taxon": "Juglans cinerea", "generation": "native"}
    page = client.get(reverse("sheet_preview", args=[upload.key])).content.decode()
    assert "1 parent without a row: founders, as the mapping declares." in page
    again = client.get(address, {"mapping": "ours"})
    assert again.context["mapping"].initial["unlisted_parents"] == "taxon = Juglans cinerea\ngeneration = native"


def test_other_sheets_have_no_box_for_unlisted_parents(client, lead):
    send(client, "a.csv", b"Art,Rolle\nJuglans a,native\n")
    page = client.get(reverse("sheet_columns", args=[SheetUpload.objects.get().key]))
    assert "unlisted_parents" not in page.context["mapping"].fields


def test_any_file_name_comes_back_with_the_sheet_to_correct(client, lead):
    send(client, 'Bäume "2020"; neu.csv', b"Binomial,Role here\nJuglans a,nativ\n")
    upload = SheetUpload.objects.get()
    header = client.get(reverse("sheet_problems", args=[upload.key, "csv"]))["Content-Disposition"]
    # RFC 6266: the name in UTF-8, percent-encoded, so that no letter of it can end the header
    assert header.startswith("attachment; filename*=utf-8''B%C3%A4ume%20%222020%22%3B%20neu-to-correct.csv")
    assert client.get(reverse("sheet_original", args=[upload.key])).content == b"Binomial,Role here\nJuglans a,nativ\n"


def test_the_kinds_are_grouped_in_load_order(client, lead):
    groups = client.get(reverse("sheet_list")).context["groups"]
    assert [sheet for _title, sheets in groups for sheet in sheets] == list(SHEETS)
    client.force_login(factories.person("manager"))
    page = client.get(reverse("sheet_list"))
    kinds = {sheet.kind for _title, sheets in page.context["groups"] for sheet in sheets}
    assert {"rating", "seed_test", "storage", "handbook"} <= kinds and not {"programme_setting", "person", "rule"} & kinds
    titles = [title for title, _sheets in page.context["groups"]]
    assert "Lots" in titles and "Census" not in titles
    assert all(f"<h2>{title}</h2>" in page.content.decode() for title in titles)


@pytest.mark.parametrize("kind", [sheet.kind for sheet in SHEETS])
def test_the_template_of_every_kind_downloads_in_both_formats(client, lead, kind):
    for wanted in ("csv", "xlsx"):
        response = client.get(reverse("sheet_template", args=[kind, wanted]))
        table = read_table(response.getvalue(), f"{kind}.{wanted}")
        assert response.status_code == 200 and table.headers == KINDS[kind].template_rows()[0]


def test_a_wrong_row_of_the_handbook_is_shown_in_the_preview(client, lead):
    # the two units of the mean swapped, as for Quercus alba in a scrape of Bonner & Karrfalt 2008, Woody Plant Seed Manual
    content = b'Binomial,Source,"Seeds per kg, mean","Seeds per lb, mean"\nQuercus alba,S,98,215\n'
    address = send(client, "handbook.csv", content, kind="handbook").url
    page = client.get(address).content.decode()
    assert "Seeds per kg, mean" in page and "look swapped" in page
    assert not SpeciesHandbook.objects.exists()


def preview(client, content, kind="taxon", name="t.csv"):
    address = send(client, name, content, kind).url
    assert address.endswith("/") and "columns" not in address
    return address, client.get(address)


def test_a_wrong_row_is_wrong_and_nothing_else(client, lead):
    factories.taxon(name="Juglans a", role="native")
    _address, page = preview(client, b"Binomial,Role here\nJuglans a,donor\nJuglans b,native\nJuglans c,\nJuglans a,native\n")
    # row 4 is new and blank where a new row needs a value; row 5 contradicts row 2
    assert dict(page.context["counts"]) == {"new": 1, "changed": 1, "unchanged": 0, "repeated": 0, "wrong": 2}
    tables = {part["title"]: part["count"] for part in page.context["parts"]}
    assert tables == {"Wrong rows": 2, "Changed rows": 1, "New rows": 1}


def test_wrong_rows_beyond_those_listed_are_counted_as_wrong(client, lead, monkeypatch):
    monkeypatch.setattr("registry.imports.sheets.plan.PROBLEMS_MAX", 1_000)
    rows = "".join(f"Juglans {number},nativ\n" for number in range(1_200))
    _address, page = preview(client, b"Binomial,Role here\n" + rows.encode() + b"Juglans b,native\n")
    assert dict(page.context["counts"])["wrong"] == 1_200 and dict(page.context["counts"])["new"] == 1
    assert "Only the first 1,000 problems are listed." in page.content.decode()
    assert "<dd>1,200</dd>" in page.content.decode()


def test_records_change_on_screen_only_with_a_reason(client, lead):
    factories.taxon(name="Juglans a", role="donor")
    address, page = preview(client, b"Binomial,Role here\nJuglans a,native\n")
    shown = page.context["form"].initial["shown"]
    for given in ({}, {"reason": ""}, {"reason": "   "}):
        page = client.post(address, {"shown": shown} | given)
        assert page.context["form"].errors == {"reason": ["This field is required."]}
        assert page.context["form"]["shown"].value() == shown
        assert Taxon.objects.get().role == "donor"
    assert client.post(address, {"shown": shown, "reason": "entered wrong"}).status_code == 302
    assert Taxon.objects.get().role == "native"


def test_the_preview_shows_cells_as_the_sheet_has_them(client, lead):
    text = b"Class,Title,Recognised by,Seed inherits it (yes/no),Source\nhybrid,Hybrid,donor_ancestry,TRUE,common practice\n"
    _address, page = preview(client, text, "material_class")
    [row] = page.context["parts"][0]["rows"]
    assert [cell[0] for cell in row.cells] == [2, "hybrid", "Hybrid", "donor_ancestry", "yes", "common practice"]
    assert ">Save 1 row<" in page.content.decode()


def test_the_preview_names_columns_that_are_not_used(client, lead):
    address = send(client, "a.csv", b"Binomial,Role here,Height\nJuglans a,native,12\n").url
    preview_address = address.removesuffix("columns/")
    page = client.get(preview_address).content.decode()
    assert "Columns of the file that are not used: “Height”." in page


def test_a_saved_mapping_names_the_column_it_misses(client, lead):
    spec = {"columns": {"name": "Art", "role": "Rolle"}}
    mapping_keep(actor=lead, kind="taxon", name="ours", spec=spec)
    address = send(client, "b.csv", b"Art,Funktion\nJuglans b,donor\n").url
    page = client.get(address, {"mapping": "ours"}).content.decode()
    assert "The saved mapping names columns this file does not have." in page
    assert page.count("The saved mapping takes it from “Rolle”, which this file does not have.") == 1


def test_the_columns_page_names_a_damaged_workbook(client, lead):
    address = send(client, "heights.xlsx", b"PK\x03\x04 broken").url
    assert "heights.xlsx looks like XLSX but is damaged" in client.get(address).content.decode()
