"""Prints: what they say, that making one records it, and that only a button does."""

import hashlib
import io
import re
from urllib.parse import urlsplit

import pypdf
import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse

from registry.models import AuditEntry, IssuedPrint, Lot
from registry.selectors.lots.lot_words import lot_words
from registry.services.lots.harvests import harvest_enter
from registry.services.lots.ledger import ledger_reverse
from registry.services.people.programme import programme_setting_save
from registry.services.prints.issued import print_record
from registry.templatetags.addresses import is_loopback
from registry.views.audit.trail import entry_url
from registry.views.prints.print_view import file_name
from tests import factories
from tests.prints.reading import codes, pictures
from tests.registry.prints.print_help import LABELS, made, orchard_lot, words

pytestmark = pytest.mark.django_db


# -- the record of a print ------------------------------------------------------------------------------


def test_only_making_a_print_records_it(client, lead):
    lot = orchard_lot(lead)
    before = AuditEntry.objects.count()
    for route in ("lot_labels", "lot_life", "lot_identity_draft"):
        assert client.get(reverse(route, args=[lot.pk])).status_code == 200
    assert (IssuedPrint.objects.count(), AuditEntry.objects.count()) == (0, before)
    answer = made(client, "lot_life", lot)
    issued = IssuedPrint.objects.get()
    assert issued.sha256 == hashlib.sha256(answer.content).hexdigest()
    assert (issued.kind, issued.size_bytes, issued.entered_by, list(issued.lots.all())) == ("lot_life", len(answer.content), lead, [lot])
    assert issued.filename in answer.headers["Content-Disposition"] and issued.filename.endswith(".pdf")
    entry = AuditEntry.objects.get(verb="issuedpaper.handed_out")  # as the audit trail has always named it
    assert entry_url(lead, entry) == reverse("issuedprint_detail", args=[issued.pk])
    assert (entry.actor, entry.record_id, entry.changes["lots"]) == (lead, issued.pk, [None, [lot.code]])


def test_the_record_of_a_print_cannot_be_changed_or_deleted(lead):
    issued = print_record(actor=lead, kind="labels", title="Labels", filename="a.pdf", content=b"x")
    for change in (lambda: IssuedPrint.objects.update(title="other"), issued.delete):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()
    assert IssuedPrint.objects.get().title == "Labels"


@pytest.mark.parametrize("fields", [{"kind": "poem"}, {"title": ""}, {"title": "t" * 161}, {"filename": "f" * 161}])
def test_a_print_of_unknown_kind_or_without_a_name_is_refused(lead, fields):
    with pytest.raises(ValidationError):
        print_record(**{"actor": lead, "kind": "labels", "title": "Labels", "filename": "a.pdf", "content": b"x"} | fields)
    assert not IssuedPrint.objects.exists()


def test_prints_name_the_programme_and_the_person_responsible(client, lead):
    lot = orchard_lot(lead)
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 40)])
    for key, value in (("name", "Mill Brook Walnuts"), ("address", "7 Fernwheel Lane, Tunbridge, Vermont")):
        programme_setting_save(actor=lead, key=key, value=value, owner="The lead", set_on=factories.day(2026))
    sender = "Mill Brook Walnuts, 7 Fernwheel Lane, Tunbridge, Vermont, Zoë Łukasiewicz"
    for route, record in (("shipment_packing", shipment), ("shipment_health_draft", shipment), ("lot_identity_draft", lot)):
        assert sender in words(made(client, route, record)), route


def test_prints_of_a_shipment_name_its_lots_and_permits(client, lead):
    lot, permit = orchard_lot(lead), factories.authorization()
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 40)])
    shipment.authorizations.add(permit)
    made(client, "shipment_packing", shipment)
    issued = IssuedPrint.objects.get()
    assert (list(issued.shipments.all()), list(issued.lots.all()), list(issued.authorizations.all())) == ([shipment], [lot], [permit])
    parts = client.get(reverse("shipment_detail", args=[shipment.pk])).context["parts"]
    (part,) = [part for part in parts if part["title"] == "Prints"]
    assert part["rows"][0].cells[0][0] == f"Packing list {shipment.code}"


def test_the_list_narrows_by_kind_lot_and_shipment(client, lead):
    lot = orchard_lot(lead, code="MB-A")
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 40)], code="SH-A")
    for kind, links in (("labels", {"lots": [lot]}), ("packing_list", {"lots": [lot], "shipments": [shipment]}), ("lot_life", {})):
        print_record(actor=lead, kind=kind, title=kind, filename="a.pdf", content=b"x", **links)

    def listed(**query):
        return [row.cells[0][0] for row in client.get(reverse("issuedprint_list"), query).context["rows"]]

    assert listed() == ["lot_life", "packing_list", "labels"]
    assert listed(kind="labels") == ["labels"]
    assert listed(lot="mb-a") == ["packing_list", "labels"]
    assert listed(shipment="sh-a") == ["packing_list"]
    page = client.get(reverse("issuedprint_detail", args=[IssuedPrint.objects.get(kind="packing_list").pk]))
    assert [part["title"] for part in page.context["parts"]] == ["Lots", "Shipments"]


# -- who may ----------------------------------------------------------------------------------------------


def test_an_auditor_sees_the_history_of_a_lot_but_makes_no_file(client):
    lot = factories.seed_lot(seeds=10)
    client.force_login(factories.person("auditor"))
    page = client.get(reverse("lot_life", args=[lot.pk]))
    assert page.status_code == 200 and "Make the PDF" not in page.content.decode()
    assert client.post(reverse("lot_life", args=[lot.pk]), {"page": "letter"}).status_code == 403
    assert not IssuedPrint.objects.exists()


def test_a_landowner_prints_the_packing_list_and_makes_no_file(client):
    owner = factories.person("landowner")
    lot = factories.stock_lot(plants=10, on=factories.day(2019, 3))
    shipment = factories.shipment(receiver=owner.partner, lots=[(lot, "bareroot", 5)], dispatched_on=factories.day(2019, 4))
    client.force_login(owner)
    assert client.get(reverse("shipment_packing", args=[shipment.pk])).status_code == 200
    assert client.post(reverse("shipment_packing", args=[shipment.pk]), {"page": "letter"}).status_code == 403
    titles = [part["title"] for part in client.get(reverse("shipment_detail", args=[shipment.pk])).context["parts"]]
    assert "Prints" not in titles


# -- what the QR code holds -------------------------------------------------------------------------------


@pytest.mark.parametrize("code", ["MB-17-2026", "MB 17/2026 & sons", "MB-Ø-17"])
def test_a_label_scanned_with_a_phone_leads_to_its_lot(client, lead, code):
    lot = orchard_lot(lead, code=code)
    found = codes(pictures(made(client, "lot_labels", lot, **LABELS).content)[0])
    assert len(found) == 4 and len(set(found)) == 1
    address = urlsplit(found[0])
    assert (address.scheme, address.netloc) == ("http", "testserver")
    assert client.get(f"{address.path}?{address.query}").url == reverse("lot_detail", args=[lot.pk])


def test_on_a_local_address_the_qr_code_holds_only_the_code(client, lead):
    lot = orchard_lot(lead)
    page = client.get(reverse("lot_labels", args=[lot.pk]), HTTP_HOST="localhost:8000")
    assert "hold just the code" in page.content.decode()
    answer = client.post(reverse("lot_labels", args=[lot.pk]), LABELS, HTTP_HOST="localhost:8000")
    assert set(codes(pictures(answer.content)[0])) == {lot.code}
    assert client.get(reverse("find"), {"q": lot.code}).url == reverse("lot_detail", args=[lot.pk])


def test_qr_codes_lead_to_the_address_of_the_site(client, lead, settings):
    settings.SITE_URL = "https://mastbook.example.org"
    lot = orchard_lot(lead)
    for host in ("localhost:8000", "testserver"):
        page = client.get(reverse("lot_labels", args=[lot.pk]), HTTP_HOST=host)
        assert "hold just the code" not in page.content.decode()
        answer = client.post(reverse("lot_labels", args=[lot.pk]), LABELS, HTTP_HOST=host)
        assert set(codes(pictures(answer.content)[0])) == {f"https://mastbook.example.org{reverse('find')}?q={lot.code}"}


@pytest.mark.parametrize(
    ("host", "local"),
    [("localhost", True), ("localhost:8000", True), ("127.0.0.1:8000", True), ("[::1]:8000", True), ("0.0.0.0", True), ("book.localhost", True),
     ("192.168.1.20:8000", False), ("mastbook.example.org", False), ("localhost.example.org", False)],
)  # fmt: skip
def test_which_names_only_this_machine_knows(host, local):
    # loopback: RFC 1122 section 3.2.1.3, RFC 4291 section 2.5.3; the name localhost: RFC 6761
    assert is_loopback(host) == local


# -- costs and names ----------------------------------------------------------------------------------------------------


def test_the_words_of_many_lots_cost_the_queries_of_one(lead, django_assert_max_num_queries):
    keys = [orchard_lot(lead).pk for _ in range(8)]
    lots = list(Lot.objects.filter(pk__in=keys).select_related("taxon"))
    with django_assert_max_num_queries(10):
        found = lot_words(lots)
    assert [found[lot.pk].harvested for lot in lots] == ["2 Oct 2026"] * 8


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("SH-1", "packing-list-SH-1.pdf"),
        ("a/b\\c:d", "packing-list-a-b-c-d.pdf"),
        ("../../x", "packing-list-..-..-x.pdf"),
        ('"\r\nX: y', "packing-list-X-y.pdf"),
    ],
)
def test_a_file_name_has_only_letters_any_file_system_takes(code, name):
    assert file_name("packing_list", code) == name


def test_hostile_names_appear_as_text_on_prints_and_pages(client, lead):
    evil = "<script>alert(1)</script>"
    lot = factories.seed_lot(actor=lead, seeds=10, storage_place=evil, code="<b>&\"'")
    shipment = factories.shipment(actor=lead, receiver=factories.partner(name=evil), lots=[(lot, "seed", 5)], handling=evil, code="../<u>")
    for route, record, data in (
        ("lot_life", lot, {}),
        ("lot_labels", lot, LABELS),
        ("shipment_packing", shipment, {}),
        ("shipment_health_draft", shipment, {}),
    ):
        page = client.get(reverse(route, args=[record.pk])).content.decode()
        assert evil not in page and re.search(r"<(b|u)>", page) is None
        answer = made(client, route, record, **data)
        assert len(pypdf.PdfReader(io.BytesIO(answer.content)).pages) >= 1
        assert "\n" not in answer.headers["Content-Disposition"]
    assert "alert(1)" in words(made(client, "shipment_packing", shipment))


def test_labels_are_offered_for_as_many_containers_as_were_picked(client, lead):
    mother = factories.pedigree_tree()
    lot = factories.seed_lot(actor=lead, mother=mother, year=2019)
    for on, containers in ((factories.day(2019, 9, 20), 3), (factories.day(2019, 9, 27), 4), (factories.day(2019, 9, 28), 9)):
        harvest = harvest_enter(actor=lead, lot=lot, on=on, count=100, picker="A", containers=containers)
    ledger_reverse(actor=lead, entry=harvest.entry, reason="of another tree")

    def offered(lot):
        return client.get(reverse("lot_labels", args=[lot.pk])).context["form"]["containers"].value()

    assert offered(lot) == 7
    assert offered(factories.stock_lot()) == 1
