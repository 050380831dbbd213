"""A programme with a paper, shipments and a planting under it, and what the tests of the permit file read."""

import csv
import datetime
import io
import zipfile

import pypdf
from django.urls import reverse
from django.utils import timezone

from plantings.selectors.permit_file.permit_file import permit_file
from plantings.services.supply import leftover_enter
from registry.models import PollenPool, ReportingClock
from registry.services.duties.duties import duty_done_enter
from registry.services.duties.incidents import incident_notice_enter
from registry.services.lots.ledger import ledger_enter
from registry.services.movements.shipments import receipt_enter
from tests import factories

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


def file_of(paper):
    return permit_file(paper, timezone.now())


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


def pdf_text(content):
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(content)).pages]


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


def rows_of(client, paper, name):
    parts = client.get(reverse("authorization_file", args=[paper.pk])).context["parts"]
    [part] = [part for part in parts if part.get("id") == name]
    return [[cell[0] for cell in row.cells] for row in part["rows"]]
