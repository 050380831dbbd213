"""Figures of very many rounds are read part by part; they are those of a reading of all, and pages show a part of them."""

import pytest
from django.urls import reverse

from plantings.calc.lineages import compare
from plantings.selectors.survival import rounds
from plantings.selectors.survival.curves import survival_curve
from plantings.selectors.survival.filters import SurvivalFilter
from plantings.selectors.survival.lifetimes import site_lifetimes
from plantings.selectors.survival.one_lineage import OneLineage
from plantings.views.survival import lineages as lineages_page
from plantings.views.survival import results
from registry.selectors.shared.held_answers import forget_answers
from tests import factories
from tests.plantings.survival.survival_examples import count_again, counted, small_programme

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(monkeypatch):
    """A lead of the small programme, with one more planting of two ages on a site of it."""
    people = small_programme("Falls")
    plot = counted(factories.planting(), factories.stock_lot(code="MORE", plants=90), 60, 50)
    count_again(plot, 2, 40)
    yield people["lead"]
    forget_answers()


def in_parts(monkeypatch, read):
    """What a reading gives where rounds are few, and where they are many."""
    few = read()
    monkeypatch.setattr(rounds, "MANY_ROUNDS", 1)
    return few, read()


@pytest.mark.parametrize("by", [("site", "lineage"), ("lineage",), ("planting",)])
def test_curves_read_by_part_are_those_of_all(lead, monkeypatch, by):
    def read():
        rows = survival_curve(lead, by, "lot", SurvivalFilter()).rows
        return len(rows), [*rows], [rows[place] for place in range(len(rows))], rows[1:2]

    few, many = in_parts(monkeypatch, read)
    assert few == many and few[0] == len(few[1]) > 1 and few[1] == few[2]


def test_lives_and_a_lineage_read_by_part_are_those_of_all(lead, monkeypatch):
    def read():
        tables = site_lifetimes(lead, "lot", SurvivalFilter())
        one = OneLineage(lead, "lot", "LOT-A")
        return tables.sites, {site: tables.lives_at([site]) for site in tables.sites}, one.sites, one.ages, one.site_codes

    few, many = in_parts(monkeypatch, read)
    assert few == many and len(few[0]) > 1 and few[2]


def test_the_lineages_follow_page_by_page(lead, client, monkeypatch):
    client.force_login(lead)
    address, chosen = reverse("survival_lineages"), {"level": "lot"}
    whole = client.get(address, chosen).context
    labels = [one.label for one in (*whole["found"].ranked, *whole["found"].unranked)]
    monkeypatch.setattr(lineages_page, "LINEAGES_A_PAGE", 1)
    pages = [client.get(address, chosen | {"page": number}) for number in range(1, len(labels) + 1)]
    shown = [
        [row.label for row in (page.context["picture"] or {"rows": ()})["rows"]] + [line[0] for line in page.context["cannot_tell"]]
        for page in pages
    ]
    assert shown == [[label] for label in labels] and len(labels) > 1
    monkeypatch.setattr(results, "LINEAGES_MOST", 1)
    assert client.get(reverse("results")).status_code == 200


def test_a_model_of_too_many_sites_and_lineages_is_not_fitted(lead, client, monkeypatch):
    client.force_login(lead)
    monkeypatch.setattr(compare, "LINEAGES_FEWEST", 0)
    monkeypatch.setattr(compare, "SITES_FEWEST", 0)
    monkeypatch.setattr(compare, "LEVELS_MOST", 1)
    found = client.get(reverse("survival_lineages") + "?level=lot")
    assert found.context["found"].why_not[0] == compare.MANY_LEVELS
    assert "a choice of sites or of a jurisdiction has one" in found.content.decode()


def test_the_map_lists_its_sites_by_page_and_its_frame_has_all(lead, client, monkeypatch):
    from plantings.views.sites import map as map_page

    client.force_login(lead)
    monkeypatch.setattr(map_page, "SITES_A_PAGE", 1)
    first = client.get(reverse("map"))
    assert len(first.context["table"]["rows"]) == 1 < first.context["page_obj"].paginator.count
    packed = client.get(reverse("map_embed"), headers={"accept-encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip" and packed.headers["Content-Security-Policy"].count("nonce-") == 2
