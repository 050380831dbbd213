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
from django.utils import timezone

from registry.models import AuditEntry, Harvest, IssuedPrint, Lot, PollenPool, PollenPoolMember, SpeciesHandbook, Treatment
from registry.selectors.lots.lot_words import engineered_trees, lot_words
from registry.selectors.lots.prints import life_document
from registry.services.identity.questions import question_raise, question_settle
from registry.services.lots.harvests import harvest_enter
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_bulk, lot_split
from registry.services.people.programme import programme_setting_save
from registry.services.prints.issued import print_record
from registry.templatetags.addresses import is_loopback
from registry.views.audit.trail import entry_url
from registry.views.prints.print_view import file_name
from tests import factories
from tests.prints.reading import codes, page_texts, pictures

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead", first_name="Zoë", last_name="Łukasiewicz")
    client.force_login(person)
    return person


def orchard_lot(actor, **fields):
    """A harvest of an orchard mother: 400 seeds that weigh 5 kg, picked on 2 October 2026."""
    mother = factories.pedigree_tree(code=f"MB-{factories.number()}", backcrosses=3, intercrosses=2, orchard="Mill Brook", block="2")
    fields = {"year": 2026, "cross_type": "open", "use_by": factories.day(2027, 6, 30), "backcrosses": 3, "intercrosses": 3} | fields
    lot = factories.seed_lot(actor=actor, mother=mother, **fields)
    entry = ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=400, on=factories.day(2026, 10, 2), mass_g=5000)
    factories.put_in(Harvest(entry=entry, picker="Björn Ødegård", fruits=420, entered_at=timezone.now(), entered_by=actor))
    SpeciesHandbook.objects.create(binomial=lot.taxon.name, source="made for a test", storage_class="recalcitrant")
    lot.refresh_from_db()
    return lot


def made(client, route, record, **data):
    """The file that the button of a print makes, with its answer."""
    answer = client.post(reverse(route, args=[record.pk]), {"page": "letter"} | data)
    assert answer.headers["Content-Type"] == "application/pdf", answer.content.decode()[:3000]
    return answer


def words(answer):
    return " ".join(" ".join(page_texts(answer.content)).split())


LABELS = {"sheet": "letter-3x10", "start": "1", "containers": "2"}


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


# -- container labels ---------------------------------------------------------------------------------------


def test_labels_come_in_pairs_with_what_the_fridge_must_know(client, lead):
    lot = orchard_lot(lead)
    text = words(made(client, "lot_labels", lot, **LABELS | {"containers": "3", "sheet": "a4-2x4"}))
    assert (text.count("INSIDE"), text.count("OUTSIDE"), text.count(lot.code)) == (3, 3, 6)
    for said in ("hybrid material, B3F4", "KEEP 1–4 °C, DO NOT FREEZE", "PLANT BY 30 Jun 2027", lot.mother.code, "harvested 2 Oct 2026"):
        assert text.count(said) == 6, said


def test_a_label_gives_no_temperature_for_unknown_seed(client, lead):
    lot = factories.seed_lot(actor=lead, seeds=10)
    assert "KEEP" not in words(made(client, "lot_labels", lot, **LABELS))


def test_treated_seed_is_marked_on_every_label(client, lead):
    lot = orchard_lot(lead)
    factories.put_in(
        Treatment(
            lot=lot, kind="pesticide", started_on=factories.day(2026, 10, 5), product="Example 42", operator="O", entered_at=timezone.now()
        )
    )
    assert words(made(client, "lot_labels", lot, **LABELS)).count("PESTICIDE-TREATED: NO FOOD") == 4


@pytest.mark.parametrize(
    ("data", "field", "message"),
    [
        ({"start": "31"}, "start", "This sheet has 30 labels. Enter 1 to 30."),
        ({"start": "0"}, "start", "greater than or equal to 1"),
        ({"containers": "0"}, "containers", "greater than or equal to 1"),
        ({"containers": "251"}, "containers", "less than or equal to 250"),
        ({"sheet": "poster"}, "sheet", "not one of the available choices"),
    ],
)
def test_a_sheet_that_cannot_be_printed_is_refused_at_its_box(client, lead, data, field, message):
    lot = orchard_lot(lead)
    page = client.post(reverse("lot_labels", args=[lot.pk]), LABELS | data)
    assert message in str(page.context["form"].errors[field])
    assert page.context["form"].data["containers"] == (LABELS | data)["containers"]
    assert not IssuedPrint.objects.exists()


# -- packing list ---------------------------------------------------------------------------------------------


def test_the_packing_list_holds_what_the_box_must_say(client, lead):
    """What a box must say: general nature, quantity, origin, shipper, consignee and permit number; common practice."""
    lot = orchard_lot(lead)
    factories.put_in(
        Treatment(
            lot=lot,
            kind="hot_water",
            started_on=factories.day(2026, 10, 3),
            temperature_c=49,
            minutes=20,
            operator="O",
            entered_at=timezone.now(),
        )
    )
    receiver = factories.partner(name="Falls Farm", address="1 River Road\nFalls")
    permit = factories.authorization(type="permit", issuer="Example office", issuer_reference="X-7")
    shipment = factories.shipment(actor=lead, receiver=receiver, lots=[(lot, "seed", 240)], handling="KEEP 1–4 °C, DO NOT FREEZE")
    shipment.authorizations.add(permit)
    answer = made(client, "shipment_packing", shipment)
    inside, outside = (" ".join(text.split()) for text in page_texts(answer.content))
    assert "FOR INSIDE THE BOX" in inside and "FOR THE OUTSIDE OF THE BOX" in outside
    for text in (inside, outside):
        for said in (
            "KEEP 1–4 °C, DO NOT FREEZE, PLANT BY 30 Jun 2027", "Falls Farm, 1 River Road, Falls", "Zoë Łukasiewicz", "permit X-7 (Example office)",
            lot.code, lot.taxon.name, "B3F4", lot.mother.code, "240 seeds", "hot water", "49 °C", "Test material, not for sale or gift.",
            "Check with the local authority", "page 1 of 1",
        ):  # fmt: skip
            assert said in text, said
    shown = client.get(reverse("shipment_packing", args=[shipment.pk])).context["parts"]
    (contents,) = [part for part in shown if part["title"] == "Contents"]
    # 240 seeds of 5,000 g / 400 = 12.5 g each
    assert contents["rows"][0].cells[5][0] == "about 3.00 kg"


def test_a_paper_not_in_force_is_listed_with_its_state(client, lead):
    shipment = factories.shipment(actor=lead)
    shipment.authorizations.add(factories.authorization(issuer_reference="X-8", state="draft"))
    assert "X-8 (Example office), draft" in words(made(client, "shipment_packing", shipment))


def test_native_material_is_not_called_test_material(client, lead):
    lot = factories.stock_lot(actor=lead, plants=20, generation_other="native")
    text = words(made(client, "shipment_packing", factories.shipment(actor=lead, lots=[(lot, "container", 5)])))
    assert "Test material" not in text
    assert "No handling instructions recorded" in text and "KEEP 1–4" not in text


def test_the_earliest_use_by_of_the_lots_is_the_day_to_plant_by(client, lead):
    lots = [orchard_lot(lead, use_by=factories.day(2027, month, 1)) for month in (6, 4, 5)]
    text = words(made(client, "shipment_packing", factories.shipment(actor=lead, lots=[(lot, "seed", 5) for lot in lots])))
    assert "PLANT BY 1 Apr 2027" in text


def test_no_print_shows_a_manager_the_receivers_address(client):
    manager = factories.person("manager")
    client.force_login(manager)
    shipment = factories.shipment(actor=manager, receiver=factories.partner(address="1 River Road"))
    for route in ("shipment_packing", "shipment_health_draft"):
        assert "1 River Road" not in client.get(reverse(route, args=[shipment.pk])).content.decode()
        assert "1 River Road" not in words(made(client, route, shipment))


# -- identity in question ---------------------------------------------------------------------------------------


def test_every_print_warns_of_an_identity_in_question(client, lead):
    lot = orchard_lot(lead)
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 5)])
    prints = (("lot_labels", lot, LABELS), ("lot_life", lot, {}), ("lot_identity_draft", lot, {}), ("shipment_packing", shipment, {}),
              ("shipment_health_draft", shipment, {}))  # fmt: skip

    def loud():
        return ["IDENTITY IN QUESTION" in words(made(client, route, record, **data)) for route, record, data in prints]

    assert loud() == [False] * 5
    question = question_raise(actor=lead, about=lot.mother, raised_on=factories.day(2026, 11), reason="Leaves of the donor")
    assert loud() == [True] * 5
    assert "Leaves of the donor" in words(made(client, "shipment_packing", shipment))
    due = [duty.text for duty in client.get(reverse("shipment_detail", args=[shipment.pk])).context["due"]]
    assert any("in question" in text and "Leaves of the donor" in text for text in due)
    question_settle(actor=lead, question=question, outcome="confirmed", text="Genotyped", on=factories.day(2026, 11, 20))
    assert loud() == [False] * 5


# -- history of a lot -----------------------------------------------------------------------------------------------


def test_the_history_of_a_lot_names_its_origin_and_destinations(client, lead):
    lot = orchard_lot(lead)
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 240)])
    text = words(made(client, "lot_life", lot))
    for said in (
        f"History of lot {lot.code}", lot.mother.code, "Mill Brook", "Björn Ødegård", "400 seeds", "5.00 kg", "+400", shipment.code, "B3F3", "B3F4",
    ):  # fmt: skip
        assert said in text, said
    # 15/16: expected native share after three backcrosses, 1 - (1/2)^4; Allard 1960, Principles of Plant Breeding
    assert text.count("15/16 native on average") == 2
    assert "page 1 of 1" in text
    assert "15/16 native on average of the generation, not of one tree" in client.get(reverse("lot_life", args=[lot.pk])).content.decode()


def test_the_history_of_a_stock_lot_names_the_mother(client, lead):
    seed = orchard_lot(lead)
    stock = factories.stock_lot(origin="sown", outside_origin="", parent=seed, taxon=seed.taxon, code="STOCK-1")
    text = words(made(client, "lot_life", stock))
    assert seed.code in text and seed.mother.code in text


def test_the_history_of_a_lot_names_the_lots_made_of_it(client, lead):
    seed = orchard_lot(lead)
    part = Lot(code="PART-1")
    lot_split(actor=lead, lot=seed, part=part, count=50, on=factories.day(2026, 10, 20), reason="for the north")
    factories.stock_lot(origin="sown", outside_origin="", parent=seed, taxon=seed.taxon, code="STOCK-1")
    document = life_document(seed, scan=(), made_on=factories.day(2026, 11, 25), made="")
    tables = {table.title: table for table in document.parts if table.title}
    assert ("split out", "−50", "1", "PART-1") in tables["Account"].rows
    # raised from it, but its ledger does not say so
    assert ("Raised or split from it", "STOCK-1") in tables["What it is"].rows
    assert dict(tables["Nothing recorded"].rows) == {
        "Tests": "Not tested.", "Treatments": "None entered.", "Storage": "No storage checks.",
        "Shipments": "None.",
    }  # fmt: skip


# -- draft for a certificate of identity --------------------------------------------------------------------------------


def draft_rows(page):
    return {label: value for part in page.context["parts"] for label, value, _known in part.get("facts", ())}


def test_the_identity_draft_says_only_what_is_recorded(client, lead):
    lot = orchard_lot(lead)
    rows = draft_rows(client.get(reverse("lot_identity_draft", args=[lot.pk])))
    assert rows["Category"] == "qualified at most; the authority decides"
    assert rows["Type of basic material"] == "seed orchard"
    assert rows["Pollination (open, supplemental, controlled)"] == "open"
    assert rows["Year in which the seed ripened"] == "2026"
    assert rows["Quantity"] == "400 seeds on hand, about 5.00 kg"
    assert rows["Number of families or clones"] == f"1 family, of mother {lot.mother.code}"
    # 5,000 g / 400 seeds = 12,500 g for 1,000
    assert rows["Weight of 1,000 seeds (g)"] == "12,500, by count and mass of the harvest"
    for head in ("Purpose", "Register reference of the basic material", "Altitude of the basic material", "Germination (%)"):
        assert rows[head] == "not recorded"
    assert rows["Certificate no."] == rows["Signature"] == "left blank for the authority"
    text = words(made(client, "lot_identity_draft", lot))
    assert "DRAFT" in text and "tested" not in text.lower().replace("not tested", "")


def test_what_is_not_from_an_orchard_is_not_called_qualified(client, lead):
    wild = factories.seed_lot(actor=lead, seeds=10)
    hybrid = factories.seed_lot(actor=lead, seeds=10, mother=factories.pedigree_tree(backcrosses=1, intercrosses=0))
    outside = factories.stock_lot(actor=lead, plants=10)
    found = [draft_rows(client.get(reverse("lot_identity_draft", args=[lot.pk])))["Category"] for lot in (wild, hybrid, outside)]
    assert found == ["source-identified at most; the authority decides", "not recorded", "not recorded"]


def test_a_bulk_of_orchard_and_wild_seed_claims_no_category(client, lead):
    orchard = orchard_lot(lead)
    mother = factories.pedigree_tree(taxon=orchard.taxon)
    wild = factories.seed_lot(actor=lead, seeds=100, on=factories.day(2026, 10, 2), mother=mother)
    bulk = factories.seed_lot(origin="bulk", mother=None, year=None, taxon=orchard.taxon) if False else factories.stock_lot(
        kind="seed", origin="bulk", outside_origin="", year=None, taxon=orchard.taxon
    )  # fmt: skip
    for lot, count in ((orchard, 300), (wild, 100)):
        lot_bulk(actor=lead, bulk=bulk, component=lot, count=count, on=factories.day(2026, 10, 5), reason="mixed")
    rows = draft_rows(client.get(reverse("lot_identity_draft", args=[bulk.pk])))
    assert rows["Category"] == rows["Type of basic material"] == "not recorded"
    # 300 and 100 of 400
    assert f"{orchard.code} 75.0 %" in rows["Crossing design and percentage of component families"]
    assert f"{wild.code} 25.0 %" in rows["Crossing design and percentage of component families"]


def test_an_engineered_ancestor_is_found_by_every_way_of_descent(lead):
    engineered = factories.pedigree_tree(code="ENG-1", regulated_engineered=True)
    father = factories.pedigree_tree(father=engineered)
    pool = PollenPool.objects.create(code="PP-E", orchard="O", flowering_year=2026)
    PollenPoolMember.objects.create(pool=pool, tree=father)
    by_pool = factories.seed_lot(pollen_pool=pool)
    raised = factories.stock_lot(origin="sown", outside_origin="", parent=by_pool)
    deep = factories.seed_lot(mother=factories.pedigree_tree(pollen_pool=pool))
    assert [engineered_trees([lot]) for lot in (by_pool, raised, deep, factories.seed_lot())] == [["ENG-1"]] * 3 + [[]]


# -- draft for a phytosanitary certificate ------------------------------------------------------------------------------


def test_the_health_draft_leaves_the_authoritys_part_blank(client, lead):
    lot = orchard_lot(lead)
    for kind, fields in (("hot_water", {"temperature_c": 49, "minutes": 20}), ("cold", {}), ("surface", {"product": "Example bleach"})):
        factories.put_in(
            Treatment(
                lot=lot, kind=kind, started_on=factories.day(2026, 10, 3), operator="O. Operator", entered_at=timezone.now(), **fields
            )
        )
    shipment = factories.shipment(actor=lead, lots=[(lot, "seed", 240)], carrier="Road")
    text = words(made(client, "shipment_health_draft", shipment))
    for said in ("20 min, 49 °C", "Example bleach", "treatment 2", f"lot {lot.code}", "orchard Mill Brook, block 2", "Road", "240 seeds"):
        assert said in text, said
    # stratification is not disinfection
    assert "treatment 3" not in text and "cold stratification" not in text
    assert text.count("DRAFT –") == len(page_texts(made(client, "shipment_health_draft", shipment).content))


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
