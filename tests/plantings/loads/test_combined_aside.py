"""A sheet of several kinds without its wrong rows: stored as if only the others had come, and the rest comes back as one load."""

import csv
import io
import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.urls import reverse

from plantings.imports.combined.loading import combined_load, combined_plan
from plantings.imports.withdrawing import load_take_back
from plantings.models import Observation, Site, Tree
from plantings.selectors.census.recount import recount_differences
from registry.imports.loads.rest import rest_bytes
from registry.imports.sheets.plan import SheetRefused
from registry.imports.sheets.reading_options import SheetError
from registry.models import Load, Lot
from registry.selectors.audit.verify import verify_book
from registry.selectors.loads.loads import rows_still_out
from tests import factories

pytestmark = pytest.mark.django_db

HEAD = "Site,Lot,Tree,Height,Day\n"
# trees 2 and 4 are wrong in the census, row 6 contradicts row 5 about one tree, and row 8 has a site without a name
ROWS = ["North,L-1,1,30,2019-09-10", "North,L-1,2,tall,2019-09-10", "North,L-2,3,25,2019-09-10", "South,L-3,4,20,2019-09-10",
        "South,L-3,4,22,2019-09-10", "South,L-2,5,21,2019-09-10", ",L-4,6,12,2019-09-10"]  # fmt: skip
SPEC = {
    "parts": {
        "taxon": {"columns": {"name": {"constant": "Juglans cinerea"}, "role": {"constant": "native"}}},
        "lot": {
            "columns": {
                "code": "Lot", "lot_kind": {"constant": "stock"}, "taxon": {"constant": "Juglans cinerea"}, "origin": {"constant": "outside"},
                "outside_origin": {"constant": "as in the sheet"},
            }
        },
        "partner": {"columns": {"code": {"constant": "PT-1"}, "name": {"constant": "Owner"}, "partner_kind": {"constant": "trust"}}},
        "site": {"columns": {"code": "Site", "name": "Site", "partner": {"constant": "PT-1"}}},
        "planting": {
            "columns": {
                "code": "Site", "site": "Site", "planted_on": {"constant": "2019-04-20"}, "state": {"constant": "established"},
                "supply": {"constant": "before_records"},
            }
        },
        "tree": {"columns": {"planting": "Site", "tag": "Tree", "lot": "Lot"}},
        "round": {
            "columns": {
                "planting": "Site", "label": {"constant": "2019"}, "growing_seasons": {"constant": "1"}, "opens_on": {"constant": "2019-09-01"},
                "closes_on": {"constant": "2019-10-15"},
            }
        },
        "census": {
            "columns": {
                "planting": "Site", "round": {"constant": "2019"}, "tag": "Tree", "status": {"constant": "A"}, "height_cm": "Height",
                "observed_on": "Day",
            }
        },
    }
}  # fmt: skip


@pytest.fixture
def lead():
    return factories.person("lead", username="lee")


def load(lead, rows=ROWS, **given):
    content = (HEAD + "\n".join(rows) + "\n").encode()
    return combined_load(actor=lead, content=content, filename="trees.csv", spec=SPEC, set_aside=True, **given)


def tags():
    return set(Tree.objects.values_list("tag", flat=True))


def is_sound():
    return recount_differences()[1] == [] and [fault for check in verify_book() for fault in check.faults] == []


def test_the_good_rows_of_all_kinds_are_stored_and_the_wrong_ones_of_none(lead):
    plan = load(lead)
    assert sorted(plan.aside) == [3, 5, 6, 8] and plan.summary().endswith("; 4 rows set aside")
    assert tags() == {"1", "3", "5"} == set(Observation.objects.values_list("tree__tag", flat=True))
    # lots 3 and 4 are in wrong rows alone
    assert set(Lot.objects.values_list("code", flat=True)) == {"L-1", "L-2"} and Site.objects.count() == 2
    assert plan.load.aside_count == 4 and is_sound()


def test_what_is_stored_is_what_the_good_rows_alone_would_store(lead):
    good = [row for number, row in enumerate(ROWS, start=2) if number not in (3, 5, 6, 8)]
    alone = load(lead, good)
    load_take_back(actor=lead, load=alone.load, reason="tried")
    assert load(lead).counts == alone.counts


def test_the_corrected_rest_comes_as_a_load_and_ticks_its_rows_off(lead):
    found = load(lead).load
    content = (HEAD + "\n".join(ROWS) + "\n").encode()
    rest = list(csv.reader(io.StringIO(rest_bytes(found, content, rows_still_out(found), "csv").decode("utf-8-sig"))))
    assert len(rest) == 5 and "Census, Height: is not a number" in next(row[-1] for row in rest if row[3] == "tall")
    corrected = [[cell.replace("tall", "33") for cell in row] for row in rest if row[3] not in ("22", "12")]
    buffer = io.StringIO()
    csv.writer(buffer).writerows(corrected)
    plan = combined_load(actor=lead, content=buffer.getvalue().encode(), filename="rest.csv", spec=SPEC)
    assert tags() == {"1", "2", "3", "4", "5"} and plan.load is not None
    assert [row for row, _words in rows_still_out(found)] == [6, 8] and is_sound()


def test_the_load_is_withdrawn_as_one(lead):
    found = load(lead).load
    load_take_back(actor=lead, load=found, reason="the wrong file")
    assert not Tree.objects.exists() and not Site.objects.exists() and is_sound()


def test_a_sheet_of_which_no_row_is_right_is_refused(lead):
    with pytest.raises(SheetRefused) as refused:
        load(lead, ["North,L-1,1,tall,2019-09-10", "North,L-1,2,tall,2019-09-10"])
    assert {problem.row for problem in refused.value.plan.problems} == {2, 3}
    assert not Load.objects.exists() and not Site.objects.exists()


def test_a_trial_stores_nothing(lead):
    content = (HEAD + "\n".join(ROWS) + "\n").encode()
    _table, plan = combined_plan(actor=lead, content=content, filename="trees.csv", spec=SPEC, set_aside=True)
    assert sorted(plan.aside) == [3, 5, 6, 8] and not Tree.objects.exists()
    assert load(lead, dry_run=True).load is None and not Tree.objects.exists()


def test_rows_of_a_box_are_not_set_aside_and_a_workbook_with_its_second_sheet_neither(lead):
    for more, words in (
        ({"parts": SPEC["parts"] | {"shipment": {"columns": {"code": "Site"}}}}, "the box would be short"),
        ({"second_sheets": {"plots": {"sheet": "Plots", "by": {"Site": "Site"}}}}, "a second sheet is in the same workbook"),
    ):
        with pytest.raises(SheetError, match=words):
            combined_load(actor=lead, content=HEAD.encode(), filename="t.csv", spec=SPEC | more, set_aside=True)


def test_the_command_writes_the_rest_and_takes_it_back(lead, tmp_path, capsys, settings):
    (tmp_path / "trees.csv").write_text(HEAD + "\n".join(ROWS) + "\n")
    (tmp_path / "trees.json").write_text(json.dumps(SPEC))
    given = {"columns": tmp_path / "trees.json", "person": "lee"}
    call_command("load", "combined", str(tmp_path / "trees.csv"), set_aside=tmp_path / "rest.csv", **given)
    said = capsys.readouterr()
    assert "set aside: row 3, column 'Census, Height': 'tall' is not a number" in said.err
    assert "4 rows to correct" in said.out and "4 rows set aside" in said.out
    corrected = (tmp_path / "rest.csv").read_text(encoding="utf-8-sig").replace("tall", "33").splitlines()
    (tmp_path / "corrected.csv").write_text("\n".join([corrected[0], *(line for line in corrected if line.startswith("North"))]))
    call_command("load", "combined", str(tmp_path / "corrected.csv"), person="lee")  # its rows say of which load they are
    assert "2" in tags() and rows_still_out(Load.objects.get(aside_count=4))[0][0] == 5


def test_the_page_sets_rows_aside_and_takes_the_rest(lead, client):
    client.force_login(lead)
    files = {"file": ("trees.csv", (HEAD + "\n".join(ROWS) + "\n").encode()), "mapping": ("trees.json", json.dumps(SPEC).encode())}
    sent = client.post(reverse("combined_send"), {name: SimpleUploadedFile(*file) for name, file in files.items()})
    page = client.get(sent.url).content.decode()
    assert "Nothing is saved while a row is wrong" in page and 'href="?aside=1"' in page
    shown = client.get(f"{sent.url}?aside=1")
    assert "4 rows will be set aside" in shown.content.decode()
    done = client.post(f"{sent.url}?aside=1", {"shown": shown.context["form"].initial["shown"]})
    load = Load.objects.get()
    assert done.url == reverse("load_detail", args=[load.pk]) and tags() == {"1", "3", "5"}
    assert "Send the corrected rest" in client.get(done.url).content.decode()
    rest = client.get(reverse("load_rest", args=[load.pk, "csv"]))
    text = (b"".join(rest.streaming_content) if rest.streaming else rest.content).decode("utf-8-sig").replace("tall", "33").splitlines()
    corrected = SimpleUploadedFile("rest.csv", "\n".join([text[0], *(line for line in text if line.startswith("North"))]).encode())
    sent = client.post(f"{reverse('combined_send')}?rest_of={load.pk}", {"file": corrected})
    shown = client.get(sent.url)
    client.post(sent.url, {"shown": shown.context["form"].initial["shown"]})
    assert "2" in tags() and [row for row, _words in rows_still_out(load)] == [5, 6, 8]
