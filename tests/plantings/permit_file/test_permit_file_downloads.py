"""The permit file as PDF and as ZIP."""

import datetime
import hashlib
import io
import json
import re
import shutil
import subprocess
import zipfile

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.exports.permit_zip import csv_pieces
from plantings.views.permit_file import files as permit_files
from registry.models import AuditEntry, AuditHead, IssuedPrint, Job
from registry.prints.bundle import Bundle
from registry.selectors.permits.documents import stored_path
from registry.services.permits.authorizations import document_add
from tests.jobs import work_off
from tests.plantings.permit_file.permit_scene import file_of, made_zip, pdf_text, table, unpacked, with_duties
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db


def test_the_pdf_says_what_the_page_says_and_is_recorded(client, scene):
    scene.census()
    client.force_login(scene.lead)
    response = client.post(reverse("authorization_file", args=[scene.paper.pk]), {"page": "a4", "pdf": "yes"})
    assert response["Content-Type"] == "application/pdf" and "permit-file-P-1.pdf" in response["Content-Disposition"]
    pages = pdf_text(response.content)
    text = " ".join(pages)
    for words in (
        "Check with the local authority. This file says what is recorded", "Hybrids for tests", "A report each year.",
        "Alive at the last round 0 22 census", "Left over, destroyed 0 4 leftovers", "another lot, 2019)",
        "MOTHER-1 ×",
    ):  # fmt: skip
        assert words in text, words
    now = timezone.localtime()
    assert all(f"page {number} of {len(pages)}" in page and f"as of {now:%-d %b %Y}" in page for number, page in enumerate(pages, 1))
    issued = IssuedPrint.objects.get()
    assert (issued.kind, issued.sha256, issued.size_bytes) == (
        "permit_file", hashlib.sha256(response.content).hexdigest(), len(response.content)
    )  # fmt: skip
    assert list(issued.authorizations.all()) == [scene.paper]


def test_the_zip_has_all_tables_documents_and_answers_with_hashes(client, gated, tmp_path):
    gated.census()
    with_duties(gated)
    permit = document_add(
        actor=gated.lead, paper=gated.paper, content=b"%PDF-1.7 permit", filename="Permit 12:2026 – scan.pdf", title="Permit"
    )
    head = AuditHead.objects.get()
    client.force_login(gated.lead)
    content = made_zip(client, gated.paper)
    files = unpacked(content)
    lines = files["MANIFEST.txt"].decode().splitlines()
    listed = dict(reversed(line.split("  ", 1)) for line in lines if not line.startswith("#"))
    # FIPS 180-4 by hashlib, file by file; every file but the manifest is in it
    assert listed == {name: hashlib.sha256(data).hexdigest() for name, data in files.items() if name != "MANIFEST.txt"}
    assert any(f"{head.entries} entries, head {head.sha256}" in line for line in lines if line.startswith("#"))
    scan = next(name for name in files if name.endswith("Permit-12-2026-scan.pdf"))
    assert files[scan] == b"%PDF-1.7 permit" and listed[scan] == permit.file.sha256
    assert any(data == b"%PDF-1.7 letter" for name, data in files.items() if name.startswith("documents/"))
    answer = file_of(gated.paper).answers[0].record
    kept = json.loads(files[f"determinations/{answer.pk}.json"])
    assert (kept["subject"], kept["cannot_be_repeated"]) == ("SH-2", "") and kept["facts"]["papers"] and kept["answer"]["findings"]
    assert files["permit-file.pdf"].startswith(b"%PDF-")
    issued = IssuedPrint.objects.get()
    assert (issued.sha256, issued.size_bytes) == (hashlib.sha256(content).hexdigest(), len(content))
    if shutil.which("sha256sum"):
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            packed.extractall(tmp_path)
        done = subprocess.run(
            ["sha256sum", "-c", "--strict", "MANIFEST.txt"], cwd=tmp_path / "permit-file-P-1", capture_output=True, text=True
        )
        assert done.returncode == 0 and done.stdout.count(": OK") == len(files) - 1, done.stderr


def test_the_tables_have_every_row_with_iso_dates(client, scene):
    scene.census()
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    head, *trees = table(files, "trees")
    assert len(trees) == 30 and trees[0] == ["PL-1", "T01001", "1", "1", "1", "STOCK-1", "", "", "alive"]
    places = [dict(zip(table(files, "places")[0], row, strict=True)) for row in table(files, "places")[1:]]
    [place] = places
    assert (place["Planted on"], place["Alive"], place["Not found"], place["Position"]) == (
        "2019-04-10",
        "22",
        "1",
        "44.50000° N, 73.20000° W",
    )
    assert len(table(files, "history")) - 1 == file_of(scene.paper).history_count - 1  # the entry that records this file came after it
    assert [row[0] for row in table(files, "shipments")[1:]] == ["SH-1", "SH-1"]


@pytest.mark.parametrize("length", [116, 117, 120, 200])
def test_a_long_file_name_keeps_its_ending_in_the_zip(client, scene, length):
    name = "s" * (length - 4) + ".pdf"
    document_add(actor=scene.lead, paper=scene.paper, content=b"%PDF-1.7 long", filename=name, title="Scan")
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    [packed] = [name for name in files if name.startswith("documents/001-sss")]
    assert files[packed] == b"%PDF-1.7 long" and packed.endswith("s.pdf") and len(packed) <= len("documents/") + 120
    assert f"{hashlib.sha256(files[packed]).hexdigest()}  {packed}" in files["MANIFEST.txt"].decode().splitlines()


def test_the_moments_of_the_tables_have_their_offset(client, scene):
    document_add(actor=scene.lead, paper=scene.paper, content=b"%PDF-1.7 x", filename="x.pdf", title="Scan")
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    for name, label in (("history", "At"), ("states", "Entered at"), ("versions", "Entered at"), ("documents", "Added at")):
        head, *rows = table(files, name)
        moments = [datetime.datetime.fromisoformat(row[head.index(label)]) for row in rows]
        assert moments and all(moment.utcoffset() is not None for moment in moments), name
    first = AuditEntry.objects.filter(record_type="authorization", record_id=scene.paper.pk).earliest("pk")
    assert moments_of(files)[0] == first.at


def moments_of(files):
    head, *rows = table(files, "history")
    return [datetime.datetime.fromisoformat(row[head.index("At")]) for row in rows]


def test_a_document_that_is_gone_is_left_out_and_named(client, scene):
    from django.core.files.storage import default_storage

    document = document_add(actor=scene.lead, paper=scene.paper, content=b"%PDF-1.7 lost soon", filename="lost.pdf", title="Lost letter")
    default_storage.delete(stored_path(document.file.sha256))
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    assert not [name for name in files if name.startswith("documents/")]
    assert f"# LEFT OUT: Lost letter (lost.pdf, SHA-256 {document.file.sha256}): the file is gone" in files["MANIFEST.txt"].decode()


def test_no_cell_of_a_table_is_run_by_a_spreadsheet():
    # OWASP, CSV Injection: a cell that begins with = + - @ is a formula
    text = b"".join(csv_pieces(["=A1"], [["=1+1", -3, datetime.date(2026, 10, 12), None, True]])).decode("utf-8-sig")
    assert text == "'=A1\r\n'=1+1,-3,2026-10-12,,yes\r\n"


@pytest.mark.parametrize("name", ["MANIFEST.txt", "a b.txt", "../x", "a\\b", "one.txt"])
def test_a_zip_refuses_taken_or_unsafe_names(name):
    bundle = Bundle(io.BytesIO(), "folder", datetime.datetime(2026, 10, 12))
    bundle.add("one.txt", [b"1"])
    with pytest.raises(ValueError, match="not a new plain file name"):
        bundle.add(name, [b"2"])


def test_a_large_zip_is_long_work_and_holds_what_a_small_one_holds(client, scene, settings, tmp_path, monkeypatch):
    settings.JOB_RESULTS = tmp_path
    client.force_login(scene.lead)
    small = unpacked(made_zip(client, scene.paper))
    monkeypatch.setattr(permit_files, "TREES_AT_ONCE", 10)
    answer = client.post(reverse("authorization_file", args=[scene.paper.pk]), {"page": "a4", "zip": "yes"})
    job = Job.objects.get()
    assert answer.url == reverse("job_detail", args=[job.pk])
    work_off()
    content = b"".join(client.get(reverse("job_file", args=[job.pk])).streaming_content)
    large = unpacked(content)
    assert large.keys() == small.keys()
    assert large["tables/trees.csv"] == small["tables/trees.csv"]
    issued = IssuedPrint.objects.latest("pk")
    assert (issued.sha256, issued.size_bytes) == (hashlib.sha256(content).hexdigest(), len(content))


def test_a_pdf_of_many_trees_is_long_work_too(client, scene, settings, tmp_path, monkeypatch):
    settings.JOB_RESULTS = tmp_path
    client.force_login(scene.lead)
    address = reverse("authorization_file", args=[scene.paper.pk])
    small = client.post(address, {"page": "a4", "pdf": "yes"}).content
    monkeypatch.setattr(permit_files, "TREES_AT_ONCE", 10)
    answer = client.post(address, {"page": "a4", "pdf": "yes"})
    job = Job.objects.get()
    assert (answer.url, job.title) == (reverse("job_detail", args=[job.pk]), f"Permit file of {scene.paper.code}")
    work_off()
    response = client.get(reverse("job_file", args=[job.pk]))
    content = b"".join(response.streaming_content)
    assert response["Content-Type"] == "application/pdf"
    # the history at the end has one print more; the minute can be another
    first, earlier = (re.sub(r"\d\d:\d\d", "", page_texts(made)[0].replace("\n", " ")) for made in (content, small))
    assert len(first) > 500 and first.partition(" as of ")[0] == earlier.partition(" as of ")[0]
    assert IssuedPrint.objects.latest("pk").sha256 == hashlib.sha256(content).hexdigest()
