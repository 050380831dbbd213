"""How a place was found, in the words of the reader. The sentences are those that the search for a place wrote."""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from plantings.maps.basis_words import BY_HAND, TYPED, basis_sentences
from plantings.maps.counties import find_counties
from plantings.maps.jurisdiction import find_jurisdictions, shipped_layers
from plantings.selectors.sites.places import _basis_words
from plantings.services.sites import site_save
from registry.calc.shared.worded import Worded
from tests import factories

# own points from memory to 0.01 degree: in Vermont, on the border river of New Hampshire, on the sea off Maine, in Quebec, far out at sea
POINTS = [(-72.57, 44.26), (-72.30, 43.70), (-70.20, 43.65), (-69.99, 43.55), (-71.25, 46.81), (-40.0, 40.0)]
NBSP = "\N{NO-BREAK SPACE}"


def test_each_sentence_that_a_search_writes_is_known():
    found = find_jurisdictions(POINTS, shipped_layers())
    texts = [_basis_words(one) for one in found] + [one.note for one in find_counties(POINTS, [one.code or "" for one in found])]
    texts += [TYPED, f"{BY_HAND}: surveyed. East of the line."]
    assert {one.basis for one in found} >= {"inside", "country only", "no boundary layer covers this point"}
    assert any("Within 2 km" in text for text in texts)
    for text in texts:
        sentences = basis_sentences(text)
        assert " ".join(sentences) == text and all(isinstance(one, Worded) for one in sentences), text
    cut = "inside: Vermont (layer US states). Within 2 km of US-NH: check on which…"
    assert basis_sentences(cut) == [cut[:34], cut[35:]]  # the rest stays as it is on file


@pytest.mark.django_db
def test_a_volunteer_reads_in_french_how_a_place_was_found():
    crew = factories.person("volunteer")
    planting = factories.planting(crew=[crew])
    planting.site.longitude, planting.site.latitude = -72.30, 43.70
    site_save(actor=factories.person("lead"), site=planting.site)
    assert "Within 2 km of US-VT" in planting.site.jurisdiction_basis
    client = Client()
    client.force_login(crew)
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    page = client.get(reverse("site_detail", args=[planting.site_id])).content.decode()
    assert f"À moins de 2{NBSP}km de US-VT{NBSP}: vérifiez de quel côté de la ligne il se trouve." in page
    assert "Within" not in page and "layer" not in page.partition("<main")[2].partition("</main")[0]
