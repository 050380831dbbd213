"""The survival page. Common practice, no source, unless named."""

import re

import pytest
from django.urls import reverse

from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import count_again, counted
from tests.plantings.survival.survival_page import csv_rows, falls, page, words

pytestmark = pytest.mark.django_db


def test_the_page_shows_figure_interval_checks_band_and_definitions(client, lead):
    falls()
    response = page(client)
    assert response.status_code == 200
    text = words(response)
    # 81/263 and 15/148: Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3
    assert "0.31 (0.26–0.37), n 263" in text
    assert "0.10 (0.06–0.16), n 148" in text
    assert "7 of 9" in text
    assert "FALLS Falls Road" in text and "Heron" in text and "native" in text
    assert "no check on these sites" in text
    assert "Not found at two rounds running counts as presumed dead" in text


def test_the_age_is_a_link_and_changes_the_figures(client, lead):
    planting = factories.planting()
    count_again(counted(planting, factories.stock_lot(), 20, 18), 2, alive=10)
    early = page(client, season=1)
    assert "0.90 (0.70–0.97), n 20" in words(early)  # 18/20: Wilson 1927, statsmodels proportion_confint
    assert 'href="?at=age-2"' in early.content.decode()
    assert words(page(client, at="age-1")) == words(early)  # the address of an earlier edition still leads there
    assert "0.50 (0.30–0.70), n 20" in words(page(client, at="age-2"))  # 10/20, the same
    assert "No planting here has a complete census after 9 growing seasons" in words(page(client, at="age-9"))


def test_plantings_left_out_are_named_on_the_page(client, lead):
    counted(factories.planting(), factories.stock_lot(), 20, 18)
    waiting = factories.planting(code="WAIT-1")
    factories.trees(waiting, count=3)
    assert "WAIT-1 at" in words(page(client)) and "no census yet" in words(page(client))


def test_the_heat_table_shades_only_from_ten_trees(client, lead):
    falls()
    html = page(client, view="heat", level="lot").content.decode()
    assert re.search(r'heat-1"><span class="heat-figure">0\.31</span><span class="heat-n">n 263', html)
    assert re.search(r'heat-0"><span class="heat-figure">0\.10</span><span class="heat-n">n 148', html)
    assert re.search(r'class="heat-cell heat-hatched"><span class="heat-figure">7 of 9</span></td>', html)


@pytest.mark.parametrize("number", ["2", "0", "-1", "x", "²", "9" * 30, "1;drop"])
def test_any_number_in_the_address_shows_a_page_of_the_heat_table(client, lead, number):
    falls()
    assert "0.31 n 263" in words(page(client, view="heat", level="lot", page=number, columns=number))


def unaccounted():
    """20 trees under test all accounted for; of 20 native checks 8 alive, 8 dead, 4 of whom nothing is known."""
    planting = factories.planting()
    counted(planting, factories.stock_lot(code="LOT-T"), 20, 18)
    counted(planting, factories.stock_lot(code="LOT-N"), 20, 8, dead=8, role="check")


@pytest.mark.parametrize("view", ["bars", "heat", "curve"])
def test_the_answer_always_has_its_band(client, lead, view):
    unaccounted()
    answer = words(page(client, view=view)).split("Alive after 1 growing season")[1]
    assert "0.40 (0.22–0.61), n 20 band 0.40–0.60" in answer
    assert "0.90 (0.70–0.97), n 20 band" not in answer


def test_the_results_page_has_the_band_beside_its_figures(client, lead):
    unaccounted()
    text = words(client.get(reverse("results")))
    assert "0.40 (0.22–0.61), n 20 band 0.40–0.60" in text and "0.90 (0.70–0.97), n 20 over 1 site" in text


@pytest.mark.parametrize("name", ["survival", "results"])
def test_the_answer_names_the_checks_in_the_plural(client, lead, name):
    unaccounted()
    counted(factories.planting(), factories.stock_lot(code="LOT-D"), 20, 4, role="check")
    shown = re.findall(r'<span class="answer-of">([^<]+)<', client.get(reverse(name)).content.decode())
    assert shown[0] == "under test" and len(shown) > 1 and {one for one in shown[1:] if not one.endswith("checks")} == set()


def test_checks_alone_are_still_named_in_the_plural(client, lead):
    counted(factories.planting(), factories.stock_lot(code="LOT-N"), 20, 8, role="check")
    assert re.findall(r'<span class="answer-of">([^<]+)<', page(client).content.decode()) == ["native checks"]


def test_an_age_that_one_planting_reached_is_said_in_the_singular(client, lead):
    counted(factories.planting(), factories.stock_lot(code="LOT-N"), 20, 8)
    assert "1 growing season, 1 planting growing seasons" in words(page(client))


def test_a_cell_of_the_heat_table_has_its_interval_and_band(client, lead):
    unaccounted()
    shown = words(page(client, view="heat", level="lot")).split("Heat table")[1]
    assert "0.40 n 20 0.22–0.61 band 0.40–0.60" in shown and "0.90 n 20 0.70–0.97" in shown


def test_the_curve_has_a_column_for_every_age_and_its_own_download(client, lead):
    planting = factories.planting()
    count_again(counted(planting, factories.stock_lot(code="LOT-A"), 20, 18), 3, alive=10)
    query = {"view": "curve", "by": "lineage", "level": "lot"}
    text = words(page(client, **query))
    assert "After 1" in text and "After 3" in text and "0.90 (0.70–0.97), n 20" in text
    assert [(row["growing_seasons"], row["alive"]) for row in csv_rows(page(client, download="csv", **query))] == [("1", "18"), ("3", "10")]


def test_an_unvisited_site_has_no_bar(client, lead):
    planting = factories.planting()
    trees = factories.trees(planting, count=12)
    factories.observe(factories.census_round(planting), dict.fromkeys(trees, "NV"))
    html = page(client).content.decode()
    assert "not visited" in html and "interval-bar" not in html


@pytest.mark.parametrize(
    "query",
    [{"by": "tree"}, {"level": "cloud"}, {"season": "spring"}, {"role": "buffer"}, {"order": "luck"}, {"jurisdiction": "US-XX"}],
)
def test_an_unknown_word_is_named_and_the_usual_table_shown(client, lead, query):
    falls()
    response = page(client, **query)
    assert response.status_code == 400
    assert "The table below is the usual one" in words(response) and "0.31 (0.26–0.37), n 263" in words(response)
    assert page(client, download="csv", **query).status_code == 400


def test_without_records_the_page_says_what_comes_first(client, lead):
    assert "No census yet" in words(page(client))


def test_only_roles_that_may_see_survival_do_and_only_their_own_rows(client):
    people = everyone()
    mine = factories.planting(site=factories.site(code="MINE", partner=people["landowner"].partner), crew=[people["volunteer"]])
    counted(mine, factories.stock_lot(), 12, 6)
    counted(factories.planting(site=factories.site(code="YOURS")), factories.stock_lot(), 12, 6)
    seen = {}
    for name, person in people.items():
        client.force_login(person)
        response = page(client, download="csv", by="site")
        seen[name] = {row["site"] for row in csv_rows(response)} if response.status_code == 200 else response.status_code
    assert seen == dict.fromkeys(("lead", "coordinator", "manager", "auditor"), {"MINE", "YOURS"}) | {
        "landowner": {"MINE"}, "other landowner": set(), "volunteer": 403, "other volunteer": 403, "unknown role": 403,
    }  # fmt: skip


def test_another_landowners_site_is_answered_like_one_that_does_not_exist(client):
    factories.site(code="YOURS", name="Secret hollow", jurisdiction="US-ME")
    client.force_login(factories.person("landowner"))
    answers = [page(client, site=code) for code in ("YOURS", "NONE")]
    assert [answer.status_code for answer in answers] == [400, 400]
    assert [code in words(answer) for code, answer in zip(("YOURS", "NONE"), answers, strict=True)] == [True, True]
    assert page(client, offer="site", fits="YO").json() == {"offers": [], "more": False}
    assert "Secret hollow" not in words(page(client)) and "US-ME" not in words(page(client))


def test_the_entry_page_answers_in_one_line(client):
    people = everyone()
    falls()
    client.force_login(people["lead"])
    text = words(client.get(reverse("results")))
    assert "Alive after 1 growing season" in text and "over 2 sites" in text
    client.force_login(people["volunteer"])
    html = client.get(reverse("results")).content.decode()
    assert reverse("map") in html and reverse("survival") not in html and "n 263" not in html


def test_the_mother_trees_are_one_click_behind_each_row(client, lead):
    planting = factories.planting()
    for code, name, source in (("A", "M-1", "Heron"), ("B", "M-2", "Heron"), ("C", "M-3", "Ibis")):
        mother = factories.pedigree_tree(code=name, source_of_resistance=source)
        counted(planting, factories.seed_lot(code=code, mother=mother), 20, 5)
    html = page(client, by="lineage", level="source").content.decode()
    heron = next(link for link in re.findall(r'href="([^"]*)"[^>]*>mother trees</a>', html) if "Heron" in link)
    text = words(client.get(heron.replace("&amp;", "&")))
    assert "M-1" in text and "M-2" in text and "M-3" not in text
    assert "Only source of resistance Heron" in text
