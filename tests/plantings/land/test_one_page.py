"""The page a landowner gets about their trees: read with their rights, in their language, and claiming no more than the trees say."""

from types import SimpleNamespace

import pytest
from django.test import Client
from django.urls import reverse

from plantings.services.trees import tree_replace
from plantings.views.land.one_page import _verdict
from registry.services.land.links import link_make
from tests import factories
from tests.prints.reading import page_texts


def looked_at(alive, n):
    return SimpleNamespace(alive=alive, n=n)


@pytest.mark.parametrize(
    "test, native, words",
    [
        (looked_at(56, 70), looked_at(48, 80), "Here more of them live than of the native trees: difference +0.20 (+0.05 to +0.33)."),
        (looked_at(48, 80), looked_at(56, 70), "Here fewer of them live than of the native trees: difference −0.20 (−0.33 to −0.05)."),
        (looked_at(9, 10), looked_at(8, 10), "Whether they do better than the native trees here cannot be told yet: difference +0.10"),
        (looked_at(9, 10), looked_at(0, 4), "Fewer than five trees were looked at"),
        (looked_at(9, 10), None, "No native check is planted here"),
    ],
)
def test_the_sentence_claims_no_more_than_the_interval(test, native, words):
    # the first two: Newcombe 1998, table II, row a, to two digits
    assert _verdict(test, native).startswith(words)


@pytest.mark.django_db
def test_the_page_has_their_trees_alone_and_is_one_page(client):
    lead = factories.person("lead")
    coordinator = factories.person("coordinator", first_name="Cora", phone="555-0142")
    native = factories.stock_lot(actor=lead, plants=90, taxon=factories.taxon(role="native"))
    replaced = []
    for name in ("Hazel", "Rowan"):
        person = factories.person("landowner", partner=factories.partner(name=f"{name} Farm", kind="landowner"), language="fr")
        planting = factories.planting(site=factories.site(partner=person.partner, name=f"{name} Hollow"))
        trees = factories.trees(planting, factories.stock_lot(actor=lead, plants=90), 20, actor=lead)
        checks = factories.trees(planting, native, 20, row=2, role="check", actor=lead)
        codes = dict.fromkeys(trees, "A") | dict.fromkeys(checks, "D")
        factories.observe(factories.census_round(planting), codes, actor=lead)
        replaced.append(tree_replace(actor=lead, tree=checks[0], tag=f"R-{name}", planted_on=factories.day(2022, 5), lot=native))
    _link, token = link_make(actor=lead, person=person)
    answer = Client().get(reverse("land_print", args=[token]), headers={"accept-language": "fr"})
    [text] = [" ".join(text.split()) for text in page_texts(answer.content)]
    for words in ("Rowan Farm", "Rowan Hollow", "Merci", "Ici, ils survivent mieux", "Cora", coordinator.phone, "page 1 de 1"):
        assert words in text
    assert "Hazel" not in text and Client().get(reverse("land_print", args=["0" * 40])).status_code == 404
    client.force_login(coordinator)
    address = reverse("partner_one_page", args=[person.partner.pk])
    assert address in client.get(reverse("partner_detail", args=[person.partner.pk])).content.decode()
    assert "Here more of them live" in client.get(address).content.decode()
    # the table has 41 trees and the map the 40 as planted, so the page says where the other is
    english = " ".join(page_texts(client.post(address, {"page": "letter", "language": "en"}).content)[0].split())
    assert "Planted later as replacements, and not on the map: 1 tree." in english
    assert "Merci" in page_texts(client.post(address, {"page": "a4", "language": "fr"}).content)[0]
