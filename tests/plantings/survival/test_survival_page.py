"""The survival page and its downloads: what is shown is what is downloaded. Common practice, no source, unless named."""

import csv
import io
import re

import openpyxl
import pytest
from django.urls import reverse

from plantings.selectors.survival.causes import survival_causes
from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import count_again, counted

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


def page(client, **query):
    return client.get(reverse("survival"), query)


def words(response):
    """The text of a page without its tags, spaces folded."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def falls():
    """81 of 263 under test and 15 of 148 checks at one site, 7 of 9 at another."""
    site = factories.site(code="FALLS", name="Falls Road", jurisdiction="US-VT")
    planting, lot = factories.planting(site=site, code="F-1"), factories.stock_lot(code="LOT-A", declared_source="Heron")
    counted(planting, lot, 263, 81)
    counted(planting, factories.stock_lot(code="WT-1", generation_other="native"), 148, 15, role="check")
    pond = factories.site(code="POND", jurisdiction="US-NY")
    counted(factories.planting(site=pond), factories.stock_lot(code="LOT-B", declared_source="Ibis"), 9, 7)
    return planting


def csv_rows(response):
    return list(csv.DictReader(io.StringIO(response.content.decode("utf-8-sig"))))


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


def test_the_csv_has_the_rows_of_the_page_with_method_and_day(client, lead):
    falls()
    response = page(client, by="site-lineage", level="lot", download="csv")
    assert response["Content-Type"].startswith("text/csv")
    assert re.search(r'filename="survival-age-1-\d{4}-\d\d-\d\d\.csv"', response["Content-Disposition"])
    rows = csv_rows(response)
    assert [(row["site"], row["lineage"], row["role"]) for row in rows] == [
        ("FALLS", "LOT-A", "test"), ("FALLS", "WT-1", "native check"), ("POND", "LOT-B", "test"),
    ]  # fmt: skip
    first = rows[0]
    assert (first["site_name"], first["planted"], first["assessed"], first["alive"], first["dead"]) == (
        "Falls Road",
        "263",
        "263",
        "81",
        "182",
    )
    # Newcombe 1998, Table I, method 3
    assert (float(first["low"]), float(first["high"])) == pytest.approx((0.2553, 0.3662), abs=1e-9)
    assert (first["checks"], first["checks_alive"], first["checks_n"]) == ("WT-1", "15", "148")
    assert float(first["difference_from_checks"]) == pytest.approx(81 / 263 - 15 / 148, abs=5e-5)
    assert "95 % Wilson" in first["method"] and re.fullmatch(r"\d{4}-\d\d-\d\d", first["as_of"])
    assert "under 10 trees" in rows[2]["note"] and "no check on these sites" in rows[2]["note"]


def test_the_workbook_holds_numbers_as_numbers(client, lead):
    falls()
    response = page(client, by="lineage", level="lot", download="xlsx")
    heads, *rows = openpyxl.load_workbook(io.BytesIO(response.content)).active.iter_rows(values_only=True)
    row = dict(zip(heads, rows[0], strict=True))
    assert (row["lineage"], row["assessed"], row["alive"], row["growing_seasons"]) == ("LOT-A", 263, 81, 1)
    assert isinstance(row["survival"], float) and row["survival"] == pytest.approx(81 / 263, abs=5e-5)
    assert row["disease_pressure"] is None and row["pressure_assessed"] == 0


def test_a_label_that_looks_like_a_formula_stays_text_in_both_files(client, lead):
    # OWASP, CSV Injection
    counted(factories.planting(), factories.stock_lot(declared_source="=1+1"), 12, 6)
    query = {"by": "lineage", "level": "source"}
    assert csv_rows(page(client, download="csv", **query))[0]["lineage"] == "'=1+1"
    _heads, row = openpyxl.load_workbook(io.BytesIO(page(client, download="xlsx", **query).content)).active.iter_rows()
    assert (row[0].data_type, row[0].value) == ("s", "'=1+1")


@pytest.mark.parametrize(
    ("query", "sites"),
    [({"site": "POND"}, {"POND"}), ({"jurisdiction": "US-VT"}, {"FALLS"}), ({"role": "check"}, {"FALLS"}), ({}, {"FALLS", "POND"})],
)
def test_filters_hold_for_the_download_as_for_the_page(client, lead, query, sites):
    falls()
    assert {row["site"] for row in csv_rows(page(client, download="csv", **query))} == sites
    shown = words(page(client, view="heat", **query)).split("Heat table")[1]
    assert {site for site in ("FALLS", "POND") if site in shown} == sites


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


# 8/20: statsmodels 0.15.0, proportion_confint(method="wilson"); the band by its definition, 8/20 to 12/20
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


def test_an_unknown_download_is_not_found(client, lead):
    falls()
    assert page(client, download="pdf").status_code == 404


def test_many_rows_are_paged_and_downloaded_in_full(client, lead):
    planting = factories.planting()
    for number in range(65):
        counted(planting, factories.stock_lot(code=f"LOT-{number:02d}"), 12, 6)
    query = {"by": "lineage", "level": "lot"}
    first, second = page(client, **query).content.decode(), page(client, page=2, **query).content.decode()
    assert (first.count('class="rung"'), second.count('class="rung"')) == (60, 5)
    assert len(csv_rows(page(client, page=2, download="csv", **query))) == 65


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


def died_of(planting, causes, role="test"):
    """Trees of one lot at one round: the causes they died of, and four alive."""
    trees = factories.trees(
        planting, factories.stock_lot(declared_source="Heron"), len(causes) + 4, role=role, row=1 if role == "test" else 2
    )
    first = planting.rounds.first() or factories.census_round(planting, 1)
    factories.observe(first, dict.fromkeys(trees[len(causes) :], "A"))
    for tree, cause in zip(trees, causes, strict=False):
        factories.observe(first, {tree: "D"}, cause=cause)


def test_causes_over_the_years_have_a_picture_and_its_numbers(client, lead):
    died_of(factories.planting(), ["canker", "canker", "drought"])
    html = page(client, view="causes").content.decode()
    assert html.count('<svg class="drawn"') == 2 and html.count('class="drawn-bar"') == 2
    assert re.search(r"Commonest cause: [^,]+, 2 trees. Its highest year is \d{4}, with 2\.", words(page(client, view="causes")))
    assert '<svg class="drawn"' not in page(client, view="causes", of_level="source", of_lineage="Other").content.decode()


def test_causes_over_the_years_have_sown_seed_apart(client, lead):
    planting = factories.planting()
    died_of(planting, ["canker", "canker"])
    sown = factories.trees(planting, factories.seed_lot(), 5, row=3)
    factories.observe(planting.rounds.get(), dict.fromkeys(sown[1:], "A"))
    factories.observe(planting.rounds.get(), {sown[0]: "D"}, cause="canker")
    found = [(part["title"].split(",")[0], part["panels"][0][1]) for part in page(client, view="causes").context["causes"]["populations"]]
    assert found == [("New deaths and removals", "2 trees"), ("New deaths and removals of trees sown as seed", "1 tree")]


def test_causes_of_death_are_one_click_behind_each_row(client, lead):
    planting = factories.planting(site=factories.site(code="FALLS"))
    died_of(planting, ["canker", "canker", "drought"])
    died_of(planting, ["canker"], role="check")
    html = page(client, by="site", level="source").content.decode()
    [address] = re.findall(r'href="([^"]*)"[^>]*>causes</a>', html)[:1]
    text = words(client.get(address.replace("&amp;", "&")))
    # counted by hand: two of canker, one of drought, three in all; the check is another row
    assert re.search(r"FALLS\S* .*under test 2 1 3 ", text), text
    table = survival_causes(lead, ("site",), "source")
    assert [(row.role_words, row.trees) for row in table.rows] == [
        ("under test", {"canker": 2, "drought": 1}),
        ("native check", {"canker": 1}),
    ]
    assert [cause for cause, _ in table.causes] == ["canker", "drought"]


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


def test_a_census_that_is_not_complete_is_shown_as_progress(client, lead):
    planting = factories.planting(code="HALF")
    trees = factories.trees(planting, count=20)
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees[:5], "A"))
    text = words(page(client))
    assert "HALF 2019 autumn at" in text and "thinly visited: 5 of 20 positions assessed" in text
    assert "No census here is complete yet." in text
    shown = words(page(client, open="on"))
    assert "1.00 (0.57–1.00), n 5 of 20" not in shown  # under ten trees the count leads
    assert "5 of 5 assessed, 20 planted" in shown and "census not complete" in shown


def test_what_was_recorded_then_is_shown_beside_hindsight(client, lead):
    planting = factories.planting()
    trees = factories.trees(planting, count=20)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["A"] * 12 + ["NF"] * 8, strict=True)))
    factories.observe(second, dict(zip(trees, ["A"] * 16 + ["D"] * 4, strict=True)))
    assert "0.60, 12 of 20" not in words(page(client, at="age-1"))
    text = words(page(client, at="age-1", then="on"))
    assert "0.80 (0.58–0.92), n 20" in text  # 16/20: Wilson 1927, statsmodels proportion_confint
    assert "0.60, 12 of 20" in text


@pytest.mark.parametrize("at", ["spring", "age-", "season-20255"])
def test_a_census_that_is_none_is_refused_in_words(client, lead, at):
    falls()
    response = page(client, at=at)
    assert response.status_code == 400
    assert "is not a census. Write age-3, season-2025, visit-2 or latest." in words(response)


def test_a_season_and_the_latest_census_can_be_chosen(client, lead):
    planting = factories.planting()
    count_again(counted(planting, factories.stock_lot(), 20, 18), 2, alive=10)
    year = planting.rounds.get(growing_seasons=2).opens_on.year
    for at, sentence in ((f"season-{year}", f"Alive in {year}"), ("latest", "Alive at the latest census of each planting")):
        text = words(page(client, at=at))
        assert sentence in text and "0.50 (0.30–0.70), n 20" in text
