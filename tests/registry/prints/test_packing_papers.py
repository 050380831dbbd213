"""The packing list names every paper the shipment goes under, and how the material was treated before it became plants."""

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from registry.calc.shared.part_dates import PartDate
from registry.models import Determination, IssuedPrint, Lot, Treatment
from registry.services.lots.ledger import lot_bulk, lot_split
from registry.services.lots.sowing import lot_raise, lot_sow
from registry.services.movements.shipments import shipment_dispatch
from tests import factories
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule
from tests.registry.prints.print_help import LABELS, made, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def treated(lot, kind="hot_water", on=DAY, **fields):
    values = {"lot": lot, "kind": kind, "started_on": on, "operator": "O", "entered_at": timezone.now()}
    return factories.put_in(Treatment(**values | fields))


def printed_papers(client, shipment):
    parts = client.get(reverse("shipment_packing", args=[shipment.pk])).context["parts"]
    facts = next(part["facts"] for part in parts if "facts" in part)
    return next(value for label, value, _known in facts if label == "Papers it goes under")


# -- papers -------------------------------------------------------------------------------------------------


def test_a_packing_list_names_the_paper_whose_cap_was_drawn(client, lead):
    rule()
    paper = permit(lead, code="P-CAP", issuer_reference="X-9", issuer="Example office", limits={"cap_quantity": 500, "cap_unit": "seeds"})
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    paper.refresh_from_db()
    assert paper.drawn == 100 and not shipment.authorizations.exists()
    assert printed_papers(client, shipment) == "permit X-9 (Example office)"
    assert "permit X-9 (Example office)" in words(made(client, "shipment_packing", shipment))
    assert list(IssuedPrint.objects.get().authorizations.all()) == [paper]


def test_a_packing_list_of_a_draft_names_what_the_gate_found_for_its_day(client, lead):
    rule()
    permit(lead, code="P-1", issuer_reference="X-1", issuer="Example office")
    permit(lead, code="P-OLD", issuer_reference="X-OLD", ends_on=datetime.date(2026, 1, 2))
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    assert printed_papers(client, shipment) == "permit X-1 (Example office)"


def test_a_packing_list_says_which_lot_goes_under_which_paper(client, lead):
    rule()
    first = hybrid_lot(lead)
    second = factories.seed_lot(actor=lead, seeds=50, mother=first.mother)
    permit(lead, code="P-1", issuer_reference="X-1", issuer="Office", limits={"lots": [first.code]})
    permit(lead, code="P-2", issuer_reference="X-2", issuer="Office", limits={"lots": [second.code]})
    receiver = factories.partner(kind="nursery", region="US-VT")
    shipment = factories.shipment(
        actor=lead, receiver=receiver, receiving_person="A. R.", lots=[(first, "seed", 10), (second, "seed", 10)], planned_on=DAY
    )
    assert printed_papers(client, shipment) == f"permit X-1 (Office), lot {first.code}; permit X-2 (Office), lot {second.code}"


def test_an_attached_paper_is_named_whether_or_not_the_gate_asks_for_one(client, lead):
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    shipment.authorizations.add(factories.authorization(issuer="Office", issuer_reference="X-5", state="in_force"))
    assert printed_papers(client, shipment) == "permit X-5 (Office)"


def test_a_packing_list_of_a_stopped_draft_says_not_to_send_it(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    stop = "The gate stops this shipment as it is recorded"
    assert stop in words(made(client, "shipment_packing", shipment))
    permit(lead)
    assert stop not in words(made(client, "shipment_packing", shipment))


def test_a_shipment_released_against_a_stop_names_its_paper(client, lead):
    rule()
    permit(
        lead, code="P-1", issuer_reference="X-1", issuer="Office", with_document=False, limits={"cap_quantity": 500, "cap_unit": "seeds"}
    )
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY, override_reason="The office sent the paper by telephone, number 7.")
    assert printed_papers(client, shipment) == "permit X-1 (Office)"


def test_the_page_of_a_shipment_says_how_each_paper_belongs_to_it(client, lead):
    rule()
    permit(lead, code="P-CAP", limits={"cap_quantity": 500, "cap_unit": "seeds"})
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    shipment.authorizations.add(factories.authorization(code="P-HAND"))
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    parts = client.get(reverse("shipment_detail", args=[shipment.pk])).context["parts"]
    (part,) = [part for part in parts if part["title"] == "Papers it goes under"]
    assert [(row.cells[0][0], row.cells[1][0]) for row in part["rows"]] == [
        ("P-CAP", "covers it; 100 counted against its cap"), ("P-HAND", "attached"),
    ]  # fmt: skip


# -- what let it go -----------------------------------------------------------------------------------------


def test_one_panel_says_what_let_a_shipment_go_and_the_refusal_is_history(client, lead):
    rule()
    shipment = draft(lead, hybrid_lot(lead), planned_on=DAY)
    client.post(reverse("shipment_dispatch", args=[shipment.pk]), {"on": DAY.isoformat()})
    assert Determination.objects.get().carried_out is False
    permit(lead)
    shipment_dispatch(actor=lead, shipment=shipment, on=DAY)
    page = client.get(reverse("shipment_detail", args=[shipment.pk]))
    panels = [part for part in page.context["parts"] if part.get("gate")]
    assert [(part["title"], part["gate"]["verdict"]) for part in panels] == [("Answer of the gate", "covered")]
    assert page.content.decode().count('id="gate-title') == 1
    (history,) = [part for part in page.context["parts"] if part["title"] == "Other answers of the gate"]
    assert [row.cells[1][0] for row in history["rows"]] == ["Stopped until what is missing is on file"]
    assert history["rows"][0].cells[0][2] == reverse(
        "determination_detail", args=[Determination.objects.filter(carried_out=False).get().pk]
    )


def test_a_shipment_recorded_later_says_that_the_gate_gave_no_answer(client, lead):
    shipment = draft(lead, hybrid_lot(lead))
    shipment_dispatch(actor=lead, shipment=shipment, on=factories.day(2019, 4, 1), recorded=True)
    page = client.get(reverse("shipment_detail", args=[shipment.pk]))
    assert "the gate gave no answer" in page.content.decode()
    assert not [part for part in page.context["parts"] if part["title"] == "Other answers of the gate"]


# -- treatments ---------------------------------------------------------------------------------------------


def packed(client, actor, lot, form="bareroot"):
    """(the rows of the table of treatments, the text of the file) of a packing list of this lot."""
    shipment = factories.shipment(actor=actor, lots=[(lot, form, 5)])
    parts = client.get(reverse("shipment_packing", args=[shipment.pk])).context["parts"]
    (treated,) = [part for part in parts if part["title"] == "Treatments"]
    return [tuple(cell[0] for cell in row.cells[1:]) for row in treated["rows"]], words(made(client, "shipment_packing", shipment))


def plants_of(actor, seed, sown_on=datetime.date(2026, 5, 1)):
    stock = Lot(code="P26", year=2026)
    lot_sow(actor=actor, lot=seed, stock=stock, count=50, on=sown_on)
    lot_raise(actor=actor, lot=stock, count=20, on=datetime.date(2026, 9, 1))
    return stock


def test_a_packing_list_names_the_treatment_of_its_plants_seed(client, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1), code="S25")
    treated(seed, on=datetime.date(2025, 10, 3), temperature_c=49, minutes=20)
    treatments, text = packed(client, lead, plants_of(lead, seed))
    assert treatments == [("as seed, lot S25", "hot water 3 Oct 2025, 49 °C, 20 min")]
    assert "P26 as seed, lot S25 hot water 3 Oct 2025, 49 °C, 20 min" in text


def test_what_was_done_to_the_seed_after_the_sowing_is_not_named(client, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1))
    stock = plants_of(lead, seed)
    treated(seed, "pesticide", on=datetime.date(2026, 6, 1), product="Late dip")
    treatments, text = packed(client, lead, stock)
    assert treatments == [] and "Late dip" not in text


def test_a_treatment_of_the_year_of_sowing_may_be_later_and_says_so(client, lead):
    """Sown on 1 May 2026: a bath in May or in 2026 may have been given to the seed that was left."""
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1), code="S25")
    for on in (PartDate(2026), PartDate(2026, 5), PartDate(2026, 4), PartDate(2026, 6)):
        treated(seed, on=on)
    treatments, text = packed(client, lead, plants_of(lead, seed))
    unsure = "; day not recorded, may be after it left that lot"
    lines = (f"hot water 2026{unsure}", "hot water Apr 2026", f"hot water May 2026{unsure}")
    assert treatments == [("as seed, lot S25", line) for line in lines]


def test_a_part_and_a_bulk_have_the_treatments_of_what_they_were_made_of(client, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1), code="S25")
    treated(seed, "pesticide", on=datetime.date(2025, 10, 3), product="Example dust")
    part = Lot(code="S25-A")
    lot_split(actor=lead, lot=seed, part=part, count=40, on=datetime.date(2025, 11, 1))
    bulk = Lot.objects.create(code="BULK", kind="seed", origin="bulk", taxon=seed.taxon)
    lot_bulk(actor=lead, bulk=bulk, component=part, count=20, on=datetime.date(2025, 12, 1))
    for lot in (part, bulk):
        treatments, text = packed(client, lead, lot, "seed")
        assert treatments == [("lot S25", "pesticide 3 Oct 2025, Example dust")]
        assert "Treated with Example dust: read its label before opening" in text


def test_plants_of_dusted_seed_carry_no_warning_of_dust_on_them(client, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1), code="S25")
    treated(seed, "pesticide", on=datetime.date(2025, 10, 3), product="Example dust")
    treatments, text = packed(client, lead, plants_of(lead, seed))
    assert treatments == [("as seed, lot S25", "pesticide 3 Oct 2025, Example dust")]
    assert "Treated with Example dust" not in text


def test_a_label_of_a_part_of_dusted_seed_warns_of_it(client, lead):
    seed = factories.seed_lot(actor=lead, seeds=100, on=datetime.date(2025, 10, 1), code="S25")
    part = Lot(code="S25-A")
    lot_split(actor=lead, lot=seed, part=part, count=40, on=datetime.date(2025, 11, 1))
    treated(seed, "pesticide", on=datetime.date(2025, 12, 1), product="Later dust")
    assert "PESTICIDE-TREATED" not in words(made(client, "lot_labels", part, **LABELS))
    treated(seed, "pesticide", on=datetime.date(2025, 10, 3), product="Example dust")
    assert "PESTICIDE-TREATED" in words(made(client, "lot_labels", part, **LABELS))
