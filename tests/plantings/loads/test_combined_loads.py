"""A sheet of several kinds is one load: its page, who sees it, and withdrawing it as one."""

import json

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from plantings.imports.combined.loading import combined_load
from plantings.imports.withdrawing import load_take_back
from plantings.models import Block, CensusRound, Planting, Site, Tree
from plantings.selectors.census.recount import tally_differences
from registry.models import AuditEntry, Load, Lot, Partner, SheetUpload, Taxon
from registry.selectors.audit.book_schema import table_schema
from registry.selectors.audit.book_tables import book_tables
from registry.selectors.audit.verify import verify_book
from tests import factories
from tests.plantings.sheets.combined_sheet import JOINED, KINDS, PLOTS, ROWS, sheet

pytestmark = pytest.mark.django_db

NO_CENSUS = {kind: part for kind, part in KINDS.items() if kind != "census"}
MADE = (Taxon, Lot, Partner, Site, Planting, Block, Tree, CensusRound)


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def load(actor, parts=NO_CENSUS, content=None, **given):
    return combined_load(actor=actor, content=content or sheet(), filename="trees.csv", spec={"parts": parts}, **given).load


def is_clean():
    return not any(check.faults for check in verify_book()) and not any(
        tally_differences(planting)[2] for planting in Planting.objects.all()
    )


def test_a_combined_load_is_withdrawn_to_an_empty_installation(lead):
    found = load(lead)
    assert found.counts["tree"] == {"new": 3} and found.counts_by_kind["site"]["new"] == 2
    assert set(found.stored) >= {"taxon", "lot", "site", "planting", "plantingentry", "tree", "censusround"}
    assert AuditEntry.objects.get(verb="load.added").changes["Sites"] == [None, "2 new"]
    load_take_back(actor=lead, load=found, reason="the wrong workbook")
    assert not any(model.objects.exists() for model in MADE) and is_clean()
    assert load(lead).counts == found.counts  # the same file may come again


def test_the_exported_book_describes_a_combined_load_as_it_is(lead):
    """A validator of data packages refused each of its rows: what was there before is an object there, and a list in other loads."""
    found, types = load(lead), {"array": list, "object": dict}
    schema = table_schema(next(table for table in book_tables() if table.model is Load))
    said = [field for field in schema["fields"] if field["type"] in types]
    assert [field["name"] for field in said if not isinstance(getattr(found, field["name"]), types[field["type"]])] == []
    assert isinstance(found.before, dict) and len(said) == 4


def test_records_a_combined_load_changed_get_their_cells_back(lead):
    load(lead)
    other = KINDS["partner"]["columns"] | {"code": {"constant": "PT-2"}}
    moved = {
        "partner": {"columns": other},
        "site": {"columns": {"code": "Site", "name": {"constant": "Moved"}, "partner": {"constant": "PT-2"}}, "rows": [
            {"column": "Site", "is": "Ridge"}]},
        "lot": {"columns": KINDS["lot"]["columns"] | {"outside_origin": {"constant": "a gift"}}},
    }  # fmt: skip
    found = load(lead, moved, reason="list of 2024")
    assert {kind: len(lines) for kind, lines in found.before_by_kind.items()} == {"site": 1, "lot": 2}
    load_take_back(actor=lead, load=found, reason="the wrong list")
    assert Site.objects.values_list("name", "partner__code").get(code="Ridge") == ("Ridge", "PT-1")
    assert set(Lot.objects.values_list("outside_origin", flat=True)) == {"as in the sheet"}
    assert Partner.objects.get().code == "PT-1" and is_clean()


def test_a_load_stays_while_a_later_load_corrects_its_census(lead):
    found = load(lead, KINDS)
    census = load(lead, {"census": KINDS["census"]}, sheet(*[row.replace("2020-09", "2020-10") for row in ROWS]), reason="later day")
    with pytest.raises(ValidationError, match="3 records were corrected after the load"):
        load_take_back(actor=lead, load=found, reason="the wrong workbook")
    assert Tree.objects.count() == 3
    load_take_back(actor=lead, load=census, reason="it was the first day")
    assert is_clean()


def test_the_page_of_a_combined_load_lists_its_kinds(client, lead):
    files = {"file": ("trees.csv", sheet()), "second": ("plots.csv", PLOTS), "mapping": ("all.json", json.dumps(JOINED).encode())}
    preview = client.post(reverse("combined_send"), {name: SimpleUploadedFile(*file) for name, file in files.items()}).url
    page = client.post(preview, {"shown": client.get(preview).context["form"].initial["shown"]}).url
    found = Load.objects.get()
    assert page == reverse("load_detail", args=[found.pk]) and page in client.get(preview).content.decode()
    said = client.get(page).content.decode()
    assert "Kinds in this sheet" in said and all(f'href="{reverse(name)}"' in said for name in ("lot_list", "site_list", "planting_list"))
    assert "second_files" not in said and "plots.csv" in said
    assert client.get(reverse("combined_original", args=[found.upload.key])).content == sheet()
    assert "17 new, of 9 kinds" in client.get(reverse("load_list")).content.decode()
    # the census is not theirs to load, so neither is this load theirs to see
    client.force_login(factories.person("manager"))
    assert client.get(page).status_code == 404
    lots = load(
        lead, {"lot": KINDS["lot"] | {"columns": KINDS["lot"]["columns"] | {"outside_origin": {"constant": "a gift"}}}}, reason="told"
    )
    assert client.get(reverse("load_detail", args=[lots.pk])).status_code == 200


def test_a_file_by_command_is_on_file_with_its_second_sheet(lead):
    plan = combined_load(actor=lead, content=sheet(), filename="trees.csv", spec=JOINED, files={"plots.csv": PLOTS})
    upload = plan.load.upload
    assert upload.loaded_at and SheetUpload.objects.get(kind="second_sheet").key.hex == upload.spec["second_files"]["plots.csv"].replace(
        "-", ""
    )
