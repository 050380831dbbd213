"""The long data: its rows, its dictionary, and the scripts that repeat the table of the page."""

import csv
import io
import shutil
import subprocess
import sys
import zipfile

import openpyxl
import pytest
from django.urls import reverse

from plantings.exports import long_data as long_files
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.long_data import long_data
from registry.models import Job
from registry.views.shared import long_downloads
from tests.jobs import work_off
from tests.plantings.survival.survival_examples import small_programme

pytestmark = pytest.mark.django_db


@pytest.fixture
def programme(client):
    people = small_programme("Old, “hill”")
    client.force_login(people["lead"])
    return people


def unzipped(client, **query):
    response = client.get(reverse("survival_data"), {"download": "zip", **query})
    archive = zipfile.ZipFile(io.BytesIO(response.content))
    return {name.split("/", 1)[1]: archive.read(name) for name in archive.namelist()}


def table(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


def test_each_tree_has_a_row_a_round_with_fate_and_counts(client, programme):
    rows = table(unzipped(client)["data.csv"])
    assert len(rows) == 2 * (12 + 2 + 6) + 3  # trees in two rounds, and three counted plots
    trees = [row for row in rows if row["kind"] == "tree" and row["role"] == "test" and row["growing_seasons"] == "1"]
    # hindsight: unclear and not located at the first round, alive at the second; not found twice is presumed dead from the first
    assert [row["fate"] for row in trees[9:]] == ["presumed_dead", "alive", "alive"]
    assert {(row["planted"], row["assessed"], row["alive"]) for row in trees} == {("1", "1", "1"), ("1", "1", "0")}
    assert {row["counted"] for row in rows if row["role"] == "buffer"} == {"no"}
    [sown] = [row for row in rows if row["population"] == "sown"]
    assert (sown["kind"], sown["planted"], sown["assessed"], sown["alive"], sown["height_cm"]) == ("plot", "60", "60", "21", "")
    dead = next(row for row in rows if row["status"] == "D")
    assert (dead["cause"], dead["check_kind"], dead["growing_seasons"]) == ("canker", "native", "2")


def test_the_dictionary_names_every_column_and_code(client, programme):
    files = unzipped(client)
    dictionary, rows = table(files["dictionary.csv"]), table(files["data.csv"])
    assert [line["Column"] for line in dictionary] == list(rows[0])
    assert all(line["Type"] and line["Meaning"] for line in dictionary)
    codes = {
        line["Column"]: set(line["Codes"].split(", ")) for line in dictionary if line["Column"] in ("role", "fate", "status", "population")
    }
    assert {name: {row[name] for row in rows} - {""} - known for name, known in codes.items()} == dict.fromkeys(codes, set())


def page_table(client, level):
    """What the page says of complete rounds at age 2, in the columns of the scripts."""
    response = client.get(reverse("survival"), {"by": "site-lineage", "level": level, "at": "age-2", "download": "csv"})
    names = ("site", "lineage", "role", "population", "planted", "assessed", "alive", "survival", "low", "high")
    return sorted([row[name] for name in names] for row in table(response.content))


@pytest.mark.parametrize("level", ["source", "lot"])
def test_the_python_script_repeats_the_table_of_the_page(client, programme, tmp_path, level):
    for name, content in unzipped(client).items():
        (tmp_path / name).write_bytes(content)
    run = subprocess.run(
        [sys.executable, "-I", tmp_path / "survival.py", "--level", level, "--age", "2"],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    made = sorted(list(row.values()) for row in csv.DictReader(io.StringIO(run.stdout)))
    assert made == page_table(client, level)
    assert len(made) == 5


@pytest.mark.skipif(not shutil.which("Rscript"), reason="R is not installed here")
def test_the_r_script_repeats_the_table_of_the_page(client, programme, tmp_path):
    for name, content in unzipped(client).items():
        (tmp_path / name).write_bytes(content)
    run = subprocess.run(["Rscript", "survival.R", "source", "2"], cwd=tmp_path, capture_output=True, text=True, check=True, timeout=60)
    made = [list(row.values()) for row in csv.DictReader(io.StringIO(run.stdout))]
    expected = page_table(client, "source")
    assert sorted(row[:7] for row in made) == [row[:7] for row in expected]
    assert [float(row[7]) for row in sorted(made)] == pytest.approx([float(row[7]) for row in expected], abs=1e-4)


def as_text(cell):
    """A cell of either file: 120 and 120.0 are one number."""
    text = "" if cell is None else str(cell)
    return text.removesuffix(".0")


def test_the_workbook_has_the_same_rows_and_the_dictionary_second(client, programme):
    response = client.get(reverse("survival_data"), {"download": "xlsx"})
    book = openpyxl.load_workbook(io.BytesIO(response.content))
    assert book.sheetnames == ["data", "dictionary"]
    heads, *rows = book["data"].iter_rows(values_only=True)
    same = table(unzipped(client)["data.csv"])
    assert [[as_text(cell) for cell in row] for row in rows] == [list(map(as_text, row.values())) for row in same]


def test_many_rows_are_a_job_with_the_same_file(client, programme, monkeypatch, settings, tmp_path):
    settings.JOB_RESULTS = tmp_path
    small = unzipped(client, role="check")["data.csv"]
    monkeypatch.setattr(long_downloads, "ROWS_AT_ONCE", 5)
    asked = client.get(reverse("survival_data"), {"role": "check", "download": "zip"})
    job = Job.objects.get()
    assert asked.url == reverse("job_detail", args=[job.pk]) and job.title == "Download: survival data, tree by tree, ZIP"
    assert job.given["page"] == f"{reverse('survival_data')}?role=check"
    work_off()
    job.refresh_from_db()
    assert (job.state, job.error) == ("done", "")
    made = client.get(reverse("job_file", args=[job.pk]))
    with zipfile.ZipFile(io.BytesIO(b"".join(made.streaming_content))) as bundle:
        name = next(name for name in bundle.namelist() if name.endswith("/data.csv"))
        assert bundle.read(name) == small
    monkeypatch.setattr(long_files, "ROWS_OF_A_WORKBOOK", 10)
    client.get(reverse("survival_data"), {"download": "xlsx"})
    work_off()
    refused = Job.objects.latest("pk")
    assert refused.state == "failed" and "Take the ZIP" in refused.error
    assert [path.name for path in tmp_path.iterdir()] == [f"job-{job.pk}-1"]  # nothing of the rows that were written before


def test_choices_and_the_row_rule_hold(client, programme):
    assert {row["site"] for row in table(unzipped(client, site="OTHER")["data.csv"])} == {"OTHER"}
    assert {row["role"] for row in table(unzipped(client, role="check")["data.csv"])} == {"check"}
    for who in ("landowner", "volunteer"):
        client.force_login(programme[who])
        assert client.get(reverse("survival_data"), {"download": "zip"}).status_code == 403
        assert list(long_data(programme[who], SurvivalFilter(site="OTHER")).rows()) == []
