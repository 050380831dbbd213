"""What a landowner reads of a shipment in French: its papers, their states and the treatments of its lots. Wordings: no source."""

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import override

from registry.compliance.gate.words import STATE_LABELS, TYPES
from registry.models import Treatment
from registry.selectors.movements.papers import ShipmentPaper
from registry.selectors.permits.local_papers import PAPER_STATE_WORDS, PAPER_TYPE_WORDS
from tests import factories
from tests.french import french_texts
from tests.people import everyone

pytestmark = pytest.mark.django_db
SPACE = "\N{NO-BREAK SPACE}"


def test_a_landowner_reads_papers_and_treatments_in_french(client, settings):
    people = everyone()
    lead, owner = people["lead"], people["landowner"]
    lot = factories.stock_lot(actor=lead, plants=60)
    day = factories.day(2018, 10, 20)
    cold = {"kind": "cold", "started_on": day, "ended_on": factories.day(2019, 3, 1), "temperature_c": 2.5}
    factories.put_in(Treatment(lot=lot, operator="A", entered_at=timezone.now(), **cold))
    shipment = factories.shipment(
        actor=lead, receiver=owner.partner, lots=[(lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4, 3)
    )  # fmt: skip
    agreement = factories.authorization(actor=lead, type="landowner", state="in_force", issuer="Ferme", issuer_reference="F-1")
    none_needed = factories.authorization(actor=lead, type="none_needed", state="closed", issuer="Bureau", issuer_reference="B-2")
    shipment.authorizations.add(agreement, none_needed)
    client.force_login(owner)
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    page = client.get(reverse("shipment_detail", args=[shipment.pk])).content.decode()
    for words in ("entente avec le propriétaire", "constat qu’aucun n’est nécessaire", "en vigueur", "fermé", "joint", "2 documents"):
        assert words in page, words
    for words in ("landowner agreement", "determination that none", "in force", "attached", "2 papers"):
        assert words not in page, words
    listed = client.get(reverse("shipment_packing", args=[shipment.pk])).content.decode()
    assert "entente avec le propriétaire F-1 (Ferme); constat qu’aucun n’est nécessaire B-2 (Bureau), fermé" in listed
    assert "stratification froide 20 octobre 2018" in listed and "2,5 °C" in listed


def test_each_kind_and_state_of_a_paper_has_its_words_in_both_languages():
    for ours, words in ((PAPER_TYPE_WORDS, TYPES), (PAPER_STATE_WORDS, STATE_LABELS)):
        with override("en"):
            assert {code: str(text) for code, text in ours.items()} == words
        assert set(words.values()) <= french_texts()


def test_what_counts_against_a_cap_is_said_in_the_language_of_the_reader():
    paper = ShipmentPaper(factories.authorization(), (), True, 1204)
    with override("fr"):
        assert paper.how == f"le couvre; 1{SPACE}204 imputés à son plafond"
    assert paper.how == "covers it; 1,204 counted against its cap"
