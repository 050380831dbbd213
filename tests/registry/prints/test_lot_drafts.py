"""The history of a lot and the drafts for certificates."""

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.part_dates import PartDate
from registry.models import Lot, PollenPool, PollenPoolMember, Treatment
from registry.selectors.lots.lot_words import engineered_trees
from registry.selectors.lots.prints import life_document
from registry.services.lots.ledger import lot_bulk, lot_split
from tests import factories
from tests.prints.reading import page_texts
from tests.registry.prints.print_help import made, orchard_lot, words

pytestmark = pytest.mark.django_db


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


def test_the_health_draft_says_that_a_treatment_of_a_year_may_be_later(client, lead):
    """Of this lot 40 seeds were split off on 1 Nov 2026; the bath of 2026 may have been given in December."""
    lot = orchard_lot(lead)
    factories.put_in(Treatment(lot=lot, kind="hot_water", started_on=PartDate(2026), operator="O. Operator", entered_at=timezone.now()))
    part = Lot(code="PART")
    lot_split(actor=lead, lot=lot, part=part, count=40, on=factories.day(2026, 11))
    unsure = "day not recorded, may be after it left that lot"
    for treated, is_said in ((part, True), (lot, False)):
        text = words(made(client, "shipment_health_draft", factories.shipment(actor=lead, lots=[(treated, "seed", 5)])))
        assert "O. Operator" in text and (unsure in text) == is_said
