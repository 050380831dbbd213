"""Evidence on orchard mothers: their order, what cannot be told, the page that two people sign, and where it is reached from."""

import csv
import html
import io
import re

import pytest
from django.urls import reverse

from plantings.calc.lineages.compare import FEW_TREES, Comparison
from plantings.calc.lineages.fit_words import counts_fit_sentence
from plantings.calc.lineages.roguing import NO_PROGENY, progeny_proposal
from plantings.selectors.survival.roguing import mothers_in_order
from registry.models import IssuedPrint
from tests import factories
from tests.plantings.survival.survival_examples import counted, planting_on
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def orchard(client):
    """(lead, six mothers of an orchard): three with progeny on three sites, one with four trees, two without; the last is decided to go."""
    lead = factories.person("lead")
    client.force_login(lead)
    mothers = [
        factories.pedigree_tree(orchard="Mill Brook", backcrosses=1, intercrosses=0, source_of_resistance="Harrow") for _ in range(6)
    ]
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    seeds = [factories.seed_lot(actor=lead, mother=mother) for mother in mothers[:4]]
    lots = [factories.stock_lot(actor=lead, plants=200, origin="sown", outside_origin="", parent=seed, taxon=seed.taxon) for seed in seeds]
    for ease in (0, 3, 6):
        planting = planting_on(factories.site())
        for lot, alive in zip(lots[:3], (20, 12, 3), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 30, 11 + ease, role="check")
    counted(planting, lots[3], 4, 4)
    factories.decision(mothers[5], "rogued", actor=lead)
    return lead, mothers


def test_mothers_are_in_order_and_the_others_have_their_reason(client, orchard):
    lead, mothers = orchard
    found = mothers_in_order(lead)
    assert [row.tree for row in found.ordered] == [mothers[2], mothers[1], mothers[0]]
    assert [(row.tree, row.reason) for row in found.cannot_tell] == [
        (mothers[3], FEW_TREES), (mothers[4], NO_PROGENY), (mothers[5], NO_PROGENY),
    ]  # fmt: skip
    text = client.get(reverse("results_mothers")).content.decode()
    assert "it proposes, people decide" in text and reverse("pedigreetree_roguing", args=[mothers[2].pk]) in text
    # two mothers have one reason, which is said once, with what would be needed
    assert re.findall(r"Cannot tell: ([^<]*)</h2>", text) == [FEW_TREES, NO_PROGENY] and text.count("Plant her seed") == 1
    rows = list(csv.DictReader(io.StringIO(client.get(reverse("results_mothers"), {"download": "csv"}).content.decode("utf-8-sig"))))
    assert [row["Mother"] for row in rows] == [mothers[place].code for place in (2, 1, 0, 3, 4, 5)] and rows[-1]["Needed"].startswith(
        "Plant her"
    )


def test_the_page_of_a_mother_is_made_to_be_signed(client, orchard):
    lead, mothers = orchard
    factories.rating(mothers[2], factories.rating_scale(), 3, actor=lead)
    url = reverse("pedigreetree_roguing", args=[mothers[2].pk])
    assert url in client.get(reverse("pedigreetree_detail", args=[mothers[2].pk])).content.decode()
    page = client.get(url).content.decode()
    assert "Her progeny survive less well than the native check on the same sites" in page
    assert "Without disease on the native checks this says nothing of resistance." in page and "5, without her 4" in page
    assert "4 standing mothers of the source of resistance Harrow would be left; the floor is 5." in page
    text = "".join(page_texts(client.post(url, {"page": "letter"}).content))
    assert "Her own ratings" in text and "Second person: name, signature, day" in text and "Remove" not in text
    assert list(IssuedPrint.objects.get().trees.all()) == [mothers[2]]


def test_page_and_print_say_whether_the_model_describes_the_counts(client):
    lead = factories.person("lead")
    client.force_login(lead)
    mothers = [factories.pedigree_tree(orchard="Mill Brook") for _ in range(6)]
    native = factories.stock_lot(actor=lead, plants=900, taxon=factories.taxon(role="native"))
    seeds = [factories.seed_lot(actor=lead, mother=mother) for mother in mothers]
    lots = [factories.stock_lot(actor=lead, plants=200, origin="sown", outside_origin="", parent=seed, taxon=seed.taxon) for seed in seeds]
    for ease in (0, 3, 6):
        planting = planting_on(factories.site())
        for lot, alive in zip(lots, (20, 18, 15, 12, 8, 3), strict=True):
            counted(planting, lot, 30, alive + ease)
        counted(planting, native, 30, 11 + ease, role="check")
    comparison = mothers_in_order(lead).table.comparison
    said = str(counts_fit_sentence(comparison.check, comparison.has_native))
    assert "Of 21 counts of a lineage or check on a planting" in said  # six mothers and the check on three sites
    assert said in html.unescape(client.get(reverse("results_mothers")).content.decode())
    made = client.post(reverse("pedigreetree_roguing", args=[mothers[5].pk]), {"page": "letter"})
    text = " ".join(" ".join(page_texts(made.content)).split())
    assert "Whether the model describes the counts" in text and said[:60] in text


def test_a_mother_without_progeny_says_what_is_needed(client, orchard):
    _lead, mothers = orchard
    page = client.get(reverse("pedigreetree_roguing", args=[mothers[4].pk])).content.decode()
    assert "Her progeny cannot tell: none of her progeny is in a complete census. Needed: Plant her seed" in page
    assert "Not rated yet." in page and progeny_proposal(None, Comparison()).startswith("Her progeny cannot tell")
