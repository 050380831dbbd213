"""The permit file and the yearly report of a paper: what counts as under it, what became of it, and the files made."""

import csv
import datetime
import hashlib
import io
import json
import shutil
import subprocess
import zipfile

import pypdf
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from plantings.exports.permit_zip import csv_pieces
from plantings.selectors.permit_file.items import permit_items
from plantings.selectors.permit_file.permit_file import permit_file
from plantings.selectors.permit_file.year import year_report
from plantings.services.plantings import planting_establish
from plantings.services.supply import leftover_enter
from plantings.services.trees import counted_plot_add, tree_replace
from registry.compliance.gate.words import DISPATCH
from registry.models import AuditEntry, AuditHead, IssuedPrint, PollenPool, ReportingClock, Requirement
from registry.prints.bundle import Bundle
from registry.selectors.permits.documents import stored_path
from registry.services.duties.duties import duty_done_correct, duty_done_enter
from registry.services.duties.incidents import incident_notice_enter
from registry.services.gate.draws import draw_return
from registry.services.lots.ledger import ledger_enter, lot_bulk
from registry.services.movements.shipments import receipt_enter, shipment_dispatch
from registry.services.permits.authorizations import document_add
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db

DAY = datetime.timedelta(days=1)


class Scene:
    """A capped paper; a shipment of 40 plants and 10 natives attached to it, with 38 + 10 received, 30 planted and seen at two rounds."""

    def __init__(self):
        self.lead = factories.person("lead")
        self.paper = factories.authorization(
            actor=self.lead, code="P-1", title="Permit for test plantings", cap_quantity=100, cap_unit="plants", state="in_force",
            starts_on=factories.day(2018), holder_person="A. Holder", covers="Hybrids for tests",
            conditions="No flowers.\nA report each year.",
        )  # fmt: skip
        pool = PollenPool.objects.create(code="POOL-7", orchard="Mill Brook", flowering_year=2017)
        self.seed = factories.seed_lot(
            actor=self.lead, seeds=90, code="SEED-1", mother=factories.pedigree_tree(code="MOTHER-1"), pollen_pool=pool
        )
        self.lot = factories.stock_lot(code="STOCK-1", origin="sown", outside_origin="", parent=self.seed)
        ledger_enter(actor=self.lead, lot=self.lot, kind="raised", quantity=100, on=factories.day(2019, 3))
        self.native = factories.stock_lot(actor=self.lead, plants=50, code="NATIVE-1")
        self.owner = factories.partner(name="Hinterwald Farm", region="US-VT", kind="own")
        self.sent = self.shipment("SH-1", [(self.lot, 40, (36, 0, 2)), (self.native, 10, (10, 0, 0))])
        self.sent.authorizations.add(self.paper)
        self.planting = factories.planting(
            code="PL-1", site=factories.site(code="SITE-1", partner=self.owner), planted_on=factories.day(2019, 4, 10), supply="shipment"
        )
        self.trees = factories.trees(self.planting, self.lot, 30, actor=self.lead)
        leftover_enter(actor=self.lead, line=self.sent.lines.get(lot=self.lot), outcome="destroyed", count=4, on=factories.day(2019, 5))

    def shipment(self, code, lines):
        """A shipment of 2019, only recorded: (lot, quantity, what arrived) of each line."""
        sent = factories.shipment(
            actor=self.lead, code=code, receiver=self.owner, lots=[(lot, "bareroot", quantity) for lot, quantity, _counts in lines],
            dispatched_on=factories.day(2019, 4, 1),
        )  # fmt: skip
        counts = {sent.lines.get(lot=lot): counts for lot, _quantity, counts in lines if counts}
        if counts:
            receipt_enter(
                actor=self.lead, shipment=sent, received_on=factories.day(2019, 4, 2), received_by="R. Ceiver", box_condition="good",
                counts=counts
            )  # fmt: skip
        return sent

    def census(self):
        """2019: 27 alive, one with catkins, 3 dead of deer. 2020: two in flower, 2 more dead of canker, 1 removed for the permit, 1 not found, 1 not visited."""
        first, second = factories.census_round(self.planting, 1), factories.census_round(self.planting, 2)
        factories.observe(first, {self.trees[0]: "A"}, actor=self.lead, flowering="male")
        factories.observe(first, dict.fromkeys(self.trees[1:27], "A"), actor=self.lead, flowering="none")
        factories.observe(first, dict.fromkeys(self.trees[27:], "D"), actor=self.lead, cause="deer")
        factories.observe(second, dict.fromkeys(self.trees[:2], "A"), actor=self.lead, flowering="both")
        factories.observe(second, dict.fromkeys(self.trees[2:22], "A"), actor=self.lead)
        factories.observe(second, dict.fromkeys(self.trees[22:24], "D"), actor=self.lead, cause="canker", note="a catkin on the ground")
        factories.observe(second, {self.trees[24]: "RM"}, actor=self.lead, cause="permit")
        factories.observe(second, {self.trees[25]: "NF"}, actor=self.lead)
        return first, second


@pytest.fixture
def scene():
    return Scene()


def file_of(paper):
    return permit_file(paper, timezone.now())


def account(client, paper):
    """{words: (seeds, plants)} as the page shows them; a blank is a dash."""
    parts = client.get(reverse("authorization_file", args=[paper.pk])).context["parts"]
    [part] = [part for part in parts if part.get("id") == "account"]
    return {row.cells[0][0]: (row.cells[1][0], row.cells[2][0]) for row in part["rows"]}


# -- what is under it, and what became of it ------------------------------------------------------------------


def test_plants_of_an_attached_shipment_are_followed_to_their_fate(client, scene):
    scene.census()
    client.force_login(scene.lead)
    found = account(client, scene.paper)
    # 40 + 10 shipped; 36 sound and 2 spoiled of 40; 30 planted, 4 destroyed; 48 − 2 spoiled − 30 − 4 = 12 unreported
    assert {words: plants for words, (_seeds, plants) in found.items()} == {
        "Issued: the cap": 100, "Drawn from it": 0, "– when shipped": 0, "– when planted": 0, "– given back to the cap": 0,
        "Left of the cap": 100,
        "Shipped": 50, "Received": 48, "– sound": 46, "– sprouted": 0, "– spoiled": 2, "Short": 2, "Without a receipt yet": 0,
        "Planted": 30,
        "Left over, returned": 0, "Left over, destroyed": 4, "Left over, still held": 0, "Received, but neither planted nor reported": 12,
        "Alive at the last round": 22, "– of them by resprout": 0, "Dead": 5, "Presumed dead": 0, "Unaccounted at the last round": 2,
        "– not found": 1, "– seen but state unclear": 0, "– position not located": 0, "– not visited": 1, "No census yet": 0, "Removed": 1,
    }  # fmt: skip
    assert {seeds for words, (seeds, _plants) in found.items() if words == "Shipped" or "Planted" in words} == {0}


def test_planted_is_always_the_sum_of_the_fates(scene):
    scene.census()
    tree_replace(actor=scene.lead, tree=scene.trees[29], tag="NEW", planted_on=factories.day(2020, 4), note="died of deer")
    counted_plot_add(actor=scene.lead, planting=scene.planting, code="D1", lot=scene.native, planted_count=7)
    for entry in permit_items(scene.paper).entries:
        assert entry.fates.total == entry.planted == entry.under
    assert {(entry.lot, entry.role): (entry.planted, entry.fates.unseen) for entry in permit_items(scene.paper).entries} == {
        ("STOCK-1", "test"): (30, 0), ("STOCK-1", "filler"): (1, 0), ("NATIVE-1", "test"): (7, 0),
    }  # fmt: skip


def test_another_shipment_in_the_same_planting_is_told_apart(client, scene):
    other = scene.shipment("SH-OTHER", [(scene.lot, 20, (20, 0, 0))])
    factories.trees(scene.planting, scene.lot, 6, actor=scene.lead, row=2)  # 2 left of the first shipment, then 4 of the other
    [entry] = [entry for entry in permit_items(scene.paper).entries if entry.lot == "STOCK-1"]
    assert (entry.under, entry.planted) == (32, 36)
    client.force_login(scene.lead)
    assert account(client, scene.paper)["Planted in the same entries, from elsewhere"] == (0, 4)
    assert other.code not in {line.shipment for line in permit_items(scene.paper).lines}


def test_unrelated_shipments_and_plantings_are_not_in_the_file(scene):
    far = factories.planting(site=factories.site())
    factories.trees(far, scene.lot, 5, actor=scene.lead)
    other = factories.authorization(actor=scene.lead)
    assert {entry.planting for entry in permit_items(scene.paper).entries} == {"PL-1"}
    assert (permit_items(other).lines, permit_items(other).entries) == ((), ())


def test_a_planting_attached_by_hand_is_under_it_with_all_its_lots(scene):
    own = factories.planting(code="PL-OWN", site=factories.site(), supply="own_stock")
    factories.trees(own, scene.native, 5, actor=scene.lead)
    own.authorizations.add(scene.paper)
    items = permit_items(scene.paper)
    assert {(entry.planting, entry.under) for entry in items.entries} == {("PL-1", 30), ("PL-OWN", 5)}
    assert [(supply.count, supply.source) for supply in items.supplies if supply.line is None] == [(5, "the programme's own stock")]


@pytest.fixture
def gated(scene):
    """A rule for the one lot; a shipment released on the permit, which drew 30 for that lot alone, and its planting."""
    today = timezone.localdate()
    document_add(actor=scene.lead, paper=scene.paper, content=b"%PDF-1.7 the permit", filename="permit.pdf", title="The permit")
    scene.lot.declared_classes.create(code="test", title="Test material", rule="declared")
    Requirement.objects.create(
        code="R1", edition="2026", title="A permit to ship", source="invented", activities=[DISPATCH, "establish"], classes=["test"],
        any_of=[["permit"]],
    )  # fmt: skip
    scene.new = factories.shipment(
        actor=scene.lead, code="SH-2", receiver=scene.owner, receiving_person="R. Ceiver",
        lots=[(scene.lot, "bareroot", 30), (scene.native, "bareroot", 8)],
    )  # fmt: skip
    shipment_dispatch(actor=scene.lead, shipment=scene.new, on=today - 9 * DAY)
    return scene


def test_a_shipment_that_drew_is_under_the_paper_with_its_lot(gated):
    gated.paper.refresh_from_db()
    assert gated.paper.drawn == 30
    new = [(line.lot, line.sent, line.under_way) for line in permit_items(gated.paper).lines if line.shipment == "SH-2"]
    assert new == [("STOCK-1", 30, 30)]  # the natives in the same box went under no rule


def test_an_answer_puts_a_shipment_under_an_uncapped_paper(gated):
    gated.paper.refresh_from_db()
    plain = factories.authorization(actor=gated.lead, code="P-0", state="in_force", starts_on=factories.day(2018))
    document_add(actor=gated.lead, paper=plain, content=b"%PDF-1.7 the other", filename="other.pdf", title="The other")
    more = factories.shipment(
        actor=gated.lead, code="SH-3", receiver=gated.owner, receiving_person="R. Ceiver",
        lots=[(gated.lot, "bareroot", 3), (gated.native, "bareroot", 2)],
    )  # fmt: skip
    shipment_dispatch(actor=gated.lead, shipment=more, on=timezone.localdate())
    assert [(line.shipment, line.lot) for line in permit_items(plain).lines] == [("SH-3", "STOCK-1")]
    assert [answer.record.subject for answer in file_of(plain).answers] == ["SH-3"]


def test_a_planting_established_on_the_paper_draws_no_plant_twice(client, gated):
    line = gated.new.lines.get(lot=gated.lot)
    receipt_enter(
        actor=gated.lead, shipment=gated.new, received_on=timezone.localdate() - 7 * DAY, received_by="R", box_condition="good",
        counts={line: (30, 0, 0)}
    )  # fmt: skip
    planting = factories.planting(code="PL-2", site=gated.planting.site, planted_on=None, state="planned", supply="shipment")
    factories.trees(planting, gated.lot, 25, actor=gated.lead)
    planting_establish(actor=gated.lead, planting=planting, on=timezone.localdate() - DAY)
    draw_return(
        actor=gated.lead, paper=gated.paper, lot=gated.lot, quantity=2, on=timezone.localdate(), subject="SH-2",
        reason="two came back, condition 4"
    )  # fmt: skip
    client.force_login(gated.lead)
    found = account(client, gated.paper)
    names = ("Drawn from it", "– when shipped", "– when planted", "– given back to the cap", "Left of the cap")
    assert [found[name][1] for name in names] == [28, 30, 0, 2, 72]
    assert ("PL-2", 25) in {(entry.planting, entry.under) for entry in permit_items(gated.paper).entries}
    assert {answer.record.subject for answer in file_of(gated.paper).answers} == {"SH-2", "PL-2"}


def test_the_chain_leads_from_the_mother_to_the_ground(client, scene):
    client.force_login(scene.lead)
    parts = client.get(reverse("authorization_file", args=[scene.paper.pk])).context["parts"]
    [chain] = [part for part in parts if part.get("id") == "chain"]
    rows = [[cell[0] for cell in row.cells] for row in chain["rows"]]
    assert rows[0] == [
        "STOCK-1", "MOTHER-1 × pool POOL-7", "2018, lot SEED-1 → STOCK-1 (raised from another lot, 2019)",
        "SH-1, 1 Apr 2019: 40 sent, 38 received", "PL-1, 10 Apr 2019", 30, "no census yet 30",
    ]  # fmt: skip
    assert rows[1][0] == "NATIVE-1" and rows[1][4:] == ["not planted", None, ""]


def test_a_bulk_names_its_components_and_no_mother(scene):
    bulk = factories.stock_lot(actor=scene.lead, code="BULK-1", origin="bulk", outside_origin="", kind="seed", year=None)
    lot_bulk(actor=scene.lead, bulk=bulk, component=scene.seed, count=10, on=factories.day(2018, 11))
    sent = factories.shipment(actor=scene.lead, receiver=scene.owner, lots=[(bulk, "seed", 10)], dispatched_on=factories.day(2019, 4, 1))
    sent.authorizations.add(scene.paper)
    life = file_of(scene.paper).lots[bulk.pk]
    assert life.parents == "bulk of 1 lot, the mother of a tree is unknown: SEED-1 (MOTHER-1 × pool POOL-7)"


# -- duties, incidents, people ---------------------------------------------------------------------------------


def with_duties(scene):
    duty = factories.duty(
        actor=scene.lead, authorization=scene.paper, title="Yearly report", recurrence="years", first_due_on=factories.day(2019, 12, 31)
    )
    proof = {"content": b"%PDF-1.7 letter", "filename": "letter.pdf"}
    duty_done_enter(
        actor=scene.lead, duty=duty, due_on=factories.day(2019, 12, 31), done_on=factories.day(2019, 12, 30), by="A",
        evidence="letter 1", **proof
    )  # fmt: skip
    duty_done_enter(
        actor=scene.lead, duty=duty, due_on=factories.day(2020, 12, 31), done_on=factories.day(2021, 1, 5), by="A", evidence="letter 2"
    )
    clock = ReportingClock.objects.create(authorization=scene.paper, title="Written report", tell="Office", amount=24, unit="hours")
    found = datetime.datetime(2020, 6, 1, 12, tzinfo=datetime.UTC)
    incident = factories.incident(actor=scene.lead, papers=[scene.paper], found_at=found)
    incident_notice_enter(
        actor=scene.lead, incident=incident, told_at=found + datetime.timedelta(hours=26), told_whom="Office", how="mail", told_by="A",
        clocks=[clock]
    )  # fmt: skip
    return duty, incident


def rows_of(client, paper, name):
    parts = client.get(reverse("authorization_file", args=[paper.pk])).context["parts"]
    [part] = [part for part in parts if part.get("id") == name]
    return [[cell[0] for cell in row.cells] for row in part["rows"]]


def test_duties_are_listed_with_status_and_evidence(client, scene):
    duty, _incident = with_duties(scene)
    client.force_login(scene.lead)
    rows = rows_of(client, scene.paper, "duties")
    assert [(row[2].year, row[3], row[6]) for row in rows[:2]] == [
        (2019, "done on time", "letter 1"),
        (2020, "done late by 5 days", "letter 2"),
    ]
    assert rows[2][0] == duty.code and rows[2][2].year == 2021 and rows[2][3].startswith("overdue by ")


def test_a_clock_of_another_paper_is_not_counted_here(client, scene):
    _duty, incident = with_duties(scene)
    other = factories.authorization(actor=scene.lead)
    incident.authorizations.add(other)
    ReportingClock.objects.create(authorization=other, title="Call", tell="Other office", amount=1, unit="hours")
    client.force_login(scene.lead)
    [row] = rows_of(client, scene.paper, "clocks")
    assert row[1] == "Written report" and row[-1] == "told 2 hours late"


def test_corrected_notices_and_evidence_stay_in_the_file(client, scene):
    duty, incident = with_duties(scene)
    notice = incident.notices.get()
    incident_notice_enter(
        actor=scene.lead, incident=incident, told_at=notice.told_at, told_whom="Head office", how="mail", told_by="A", supersedes=notice,
        reason="wrong office", content=b"%PDF-1.7 mail", filename="mail.pdf",
    )  # fmt: skip
    first = duty.done.get(due_on=factories.day(2019, 12, 31))
    values = {"due_on": first.due_on, "done_on": first.done_on, "by": "B"}
    duty_done_correct(actor=scene.lead, record=first, evidence="letter 1 in full", reason="a page was missing", **values)
    client.force_login(scene.lead)
    assert [(row[2], row[-1]) for row in rows_of(client, scene.paper, "notices")] == [
        ("Office", "by a later record: wrong office"), ("Head office", ""),
    ]  # fmt: skip
    assert rows_of(client, scene.paper, "duties")[0][6] == "letter 1 in full"
    assert {row[3] for row in rows_of(client, scene.paper, "documents")} == {"letter.pdf", "mail.pdf"}


def test_the_file_lists_holder_actors_and_who_has_left(client, scene):
    crew = factories.person("volunteer", first_name="Tom", last_name="Gone", left_on=factories.day(2021))
    scene.planting.crew.add(crew)
    client.force_login(scene.lead)
    rows = rows_of(client, scene.paper, "people")
    assert rows[0][:2] == ["A. Holder", "holder"]
    assert ["Tom Gone", "crew of a planting", "Volunteer (person)", factories.day(2021)] in [row[:4] for row in rows]
    [acted] = [row for row in rows if row[0] == str(scene.lead)]
    assert acted[1] == "entered records" and acted[4] == file_of(scene.paper).history_count


def test_the_page_says_once_what_the_file_is(client, gated):
    client.force_login(gated.lead)
    page = client.get(reverse("authorization_file", args=[gated.paper.pk])).content.decode()
    assert page.count("it does not say what is allowed") == 1


def test_what_does_not_add_up_comes_first(client, gated):
    type(gated.paper).objects.filter(pk=gated.paper.pk).update(drawn=29)
    client.force_login(gated.lead)
    lines = [line.text for line in client.get(reverse("authorization_file", args=[gated.paper.pk])).context["due"]]
    assert lines[0] == "Recorded as drawn: 29; its draws add up to 30. Run the command verify."
    assert "Shipments that left and have no receipt: 1." in lines and "Seeds and plants shipped but missing from the receipts: 2." in lines
    other = factories.authorization(actor=gated.lead)
    assert [line.text for line in client.get(reverse("authorization_file", args=[other.pk])).context["due"]] == ["It has no document."]


# -- the files ---------------------------------------------------------------------------------------------


def pdf_text(content):
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(content)).pages]


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


def made_zip(client, paper):
    response = client.post(reverse("authorization_file", args=[paper.pk]), {"page": "letter", "zip": "yes"})
    assert response["Content-Type"] == "application/zip" and response.streaming
    return b"".join(response.streaming_content)


def unpacked(content):
    """{name without the folder: bytes} of a ZIP."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        assert packed.testzip() is None
        return {name.split("/", 1)[1]: packed.read(name) for name in packed.namelist()}


def table(files, name):
    return list(csv.reader(io.StringIO(files[f"tables/{name}.csv"].decode("utf-8-sig"))))


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


# -- the yearly report --------------------------------------------------------------------------------------


def test_the_report_of_a_year_counts_what_happened_in_it(scene):
    scene.census()
    with_duties(scene)
    first, second = (year_report(scene.paper, year, timezone.now()) for year in (2019, 2020))
    assert sum(n for _unit, n in first.shipped) == 50 and sum(n for _unit, n in first.received) == 48
    assert (first.planted, first.destroyed) == ((("plants", 30),), (("plants", 4),))
    assert (second.shipped, second.planted, second.destroyed) == ((), (), ())
    [early], [late] = first.at_last_round, second.at_last_round
    assert (early.n, early.alive, early.dead, early.died, early.unaccounted) == (30, 27, 3, 3, 0)
    assert (late.n, late.alive, late.dead, late.died, late.unaccounted, late.removed) == (30, 22, 5, 2, 2, 1)
    assert (first.deaths, second.deaths) == ((("Deer", 3),), (("Canker", 2),))
    assert second.removals == (("Permit requires it", 1),) and second.flower_notes == 2
    assert (first.flowered, first.first_flowered, second.flowered, second.first_flowered) == (1, 1, 2, 1)
    assert [status.status for _duty, status in first.dates] == ["done_on_time"]
    assert [status.status for _duty, status in second.dates] == ["done_late"]
    assert (len(first.incidents), len(second.incidents)) == (0, 1)


def test_a_year_without_a_round_counts_the_trees_not_visited(scene):
    report = year_report(scene.paper, 2019, timezone.now())
    assert report.at_last_round == () and report.unseen == (("plants", 30),)
    assert year_report(scene.paper, 2018, timezone.now()).unseen == ()


def test_the_report_is_a_draft_on_every_page(client, scene):
    scene.census()
    client.force_login(scene.lead)
    url = reverse("authorization_year", args=[scene.paper.pk, 2020])
    assert "DRAFT: to be read and sent by a person" in client.get(url).content.decode()
    pages = pdf_text(client.post(url, {"page": "letter"}).content)
    assert all("DRAFT: to be read and sent by a person" in page for page in pages)
    assert "– alive 0 22 last round of the year" in " ".join(pages) and "Canker 2" in " ".join(pages)
    assert IssuedPrint.objects.get().kind == "year_report"


# -- who may, and how many queries ---------------------------------------------------------------------------


def test_the_year_form_leads_to_the_report_of_that_year(client, scene):
    client.force_login(scene.lead)
    url = reverse("authorization_file", args=[scene.paper.pk])
    assert client.get(url, {"year": "2020"}).url == reverse("authorization_year", args=[scene.paper.pk, 2020])
    response = client.get(url, {"year": "20"})
    assert response.status_code == 200 and response.context["years"].errors
    assert client.get(reverse("authorization_year", args=[scene.paper.pk, 9999])).status_code == 404


def test_staff_and_auditors_see_and_make_the_file_and_nobody_else(client, scene):
    url, year = (
        reverse(name, args=[scene.paper.pk, *more]) for name, more in (("authorization_file", ()), ("authorization_year", (2020,)))
    )
    for who, person in everyone().items():
        client.force_login(person)
        may = who in {"lead", "coordinator", "auditor"}
        assert client.get(url).status_code == client.get(year).status_code == (200 if may else 403), who
        assert client.post(url, {"page": "letter"}).status_code == (200 if may else 403), who
        # a report goes out in the programme's name: an auditor reads it and does not make it
        assert client.post(year, {"page": "letter"}).status_code == (200 if who in {"lead", "coordinator"} else 403), who
    client.force_login(scene.lead)
    assert url in client.get(reverse("authorization_detail", args=[scene.paper.pk])).content.decode()


def queries(work):
    with CaptureQueriesContext(connection) as captured:
        work()
    return len(captured)


def test_queries_do_not_grow_with_trees_and_shipments(gated):
    gated.census()
    with_duties(gated)
    counted = [queries(lambda: file_of(gated.paper)), queries(lambda: year_report(gated.paper, 2020, timezone.now()))]
    for number in range(2):
        more = gated.shipment(f"MORE-{number}", [(gated.native, 5, (5, 0, 0))])
        more.authorizations.add(gated.paper)
        planting = factories.planting(site=gated.planting.site, planted_on=factories.day(2019, 4, 11), supply="shipment")
        trees = factories.trees(planting, gated.native, 5, actor=gated.lead)
        factories.observe(factories.census_round(planting, 2), dict.fromkeys(trees, "D"), actor=gated.lead, cause="deer")
        factories.duty(actor=gated.lead, authorization=gated.paper)
        factories.incident(actor=gated.lead, papers=[gated.paper])
        sent = factories.shipment(actor=gated.lead, receiver=gated.owner, receiving_person="R", lots=[(gated.lot, "bareroot", 2)])
        reason = "The report that is late goes out tomorrow."
        shipment_dispatch(actor=gated.lead, shipment=sent, on=timezone.localdate(), override_reason=reason)
        document_add(actor=gated.lead, paper=gated.paper, content=f"%PDF-1.7 {number}".encode(), filename="p.pdf", title="Letter")
    assert counted == [queries(lambda: file_of(gated.paper)), queries(lambda: year_report(gated.paper, 2020, timezone.now()))]
