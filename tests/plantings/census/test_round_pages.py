"""The pages of census rounds: progress, trees without a record, records that disagree."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.calc.census.rows import LastSeen
from plantings.imports.sites.sites import RoundSheet
from plantings.models import CensusRound, SurvivalTally
from plantings.selectors.census.rounds import expected, field_form_trees, last_seen, missing_trees, next_tree, rounds_with_progress
from plantings.selectors.overview.today import today_lines
from plantings.services.census.observations import observation_correct
from plantings.services.trees import counted_plot_add, tree_replace
from tests import factories
from tests.registry.sheets.sheet_help import refused

pytestmark = pytest.mark.django_db


def progress(census_round):
    item = rounds_with_progress(CensusRound.objects.filter(pk=census_round.pk)).get()
    return item.recorded, item.missing, expected(item)


def tags(trees):
    return [tree.tag for tree in trees]


# Which trees need a record is the programme's own rule (selectors/census/rounds.py); no source.
def test_every_planted_tree_is_expected_at_the_first_round():
    planting = factories.planting()
    trees = factories.trees(planting, count=5)
    census_round = factories.census_round(planting)
    assert progress(census_round) == (0, 5, 5)
    factories.observe(census_round, {trees[0]: "A", trees[1]: "D"})
    assert progress(census_round) == (2, 3, 5)


def test_dead_trees_stay_on_the_field_form_but_need_no_record():
    planting = factories.planting()
    trees = factories.trees(planting, count=5)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    factories.observe(first, dict(zip(trees, ["D", "RM", "NF", "A", "NL"], strict=True)))
    assert progress(first) == (5, 0, 5)
    assert tags(missing_trees(second)) == tags(trees[2:])
    assert tags(field_form_trees(second)) == tags([trees[0], *trees[2:]])


def test_a_dead_tree_seen_alive_later_is_expected_again():
    planting = factories.planting()
    [tree] = factories.trees(planting, count=1)
    rounds = [factories.census_round(planting, season) for season in (1, 2, 3)]
    factories.observe(rounds[0], {tree: "D"})
    assert progress(rounds[2]) == (0, 0, 0)
    factories.observe(rounds[1], {tree: "AR"})
    assert progress(rounds[2]) == (0, 1, 1)


def test_a_replacement_is_expected_from_the_next_round_on():
    planting, lot = factories.planting(), factories.stock_lot()
    [tree] = factories.trees(planting, lot, 1)
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    tree_replace(actor=factories.person(), tree=tree, tag="R1", planted_on=factories.day(2019, 11), lot=lot)
    assert tags(field_form_trees(first)) == [tree.tag]
    assert tags(field_form_trees(second)) == ["R1"]


def test_a_superseded_record_counts_once():
    planting, actor = factories.planting(), factories.person()
    [tree] = factories.trees(planting, count=1)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {tree: "A"})
    observation_correct(actor=actor, observation=tree.observations.get(), reason="wrong row", status="AR")
    assert progress(census_round) == (1, 0, 1)


def test_the_next_tree_follows_the_walk_and_begins_again_at_its_end():
    planting = factories.planting()
    trees = factories.trees(planting, count=4)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[2]: "A"})
    assert next_tree(census_round).tag == trees[0].tag
    assert next_tree(census_round, after=trees[1]).tag == trees[3].tag
    assert next_tree(census_round, after=trees[3]).tag == trees[0].tag
    factories.observe(census_round, {trees[0]: "A", trees[1]: "A"})
    assert next_tree(census_round, after=trees[3]) is None


def test_last_values_come_from_earlier_rounds_each_with_its_day():
    planting = factories.planting()
    trees = factories.trees(planting, count=2)
    rounds = [factories.census_round(planting, season) for season in (1, 2, 3)]
    factories.observe(rounds[0], {trees[0]: "A"}, height_cm=40.0, diameter_mm=6.0)
    factories.observe(rounds[1], {trees[0]: "NL"})
    factories.observe(rounds[2], {trees[0]: "A"}, height_cm=90.0)
    on = rounds[0].opens_on
    assert last_seen(rounds[2], [tree.pk for tree in trees]) == {
        trees[0].pk: LastSeen("NL", {"height_cm": (40.0, on), "diameter_mm": (6.0, on)})
    }


def page_of(client, census_round):
    response = client.get(reverse("round_detail", args=[census_round.pk]))
    assert response.status_code == 200
    return response


def part(response, title):
    return next((part for part in response.context["parts"] if part["title"] == title), None)


def test_records_that_disagree_are_odd_until_one_is_corrected(client):
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[0]: "A", trees[1]: "A"}, height_cm=50.0)
    factories.observe(census_round, {trees[0]: "NF", trees[1]: "A"})
    client.force_login(factories.person("coordinator"))
    response = page_of(client, census_round)
    [line] = response.context["due"]
    assert (line.severity, line.text) == ("odd", "1 tree has records that disagree. Settle each by a correction.")
    table = part(response, "Records that disagree")
    assert [(row.cells[0][0], row.cells[2][0]) for row in table["rows"]] == [(trees[0].tag, "Alive"), (trees[0].tag, "Not found")]
    wrong = trees[0].observations.get(status="NF")
    assert table["rows"][1].cells[-1][2] == reverse("observation_correct", args=[wrong.pk])
    values = {"status": "A", "observed_on": str(wrong.observed_on), "reason": "second crew was one row off"}
    client.post(table["rows"][1].cells[-1][2], values)
    settled = page_of(client, census_round)
    assert settled.context["due"] == [] and part(settled, "Records that disagree") is None


def test_two_causes_of_one_death_are_told_apart(client):
    planting = factories.planting()
    [tree] = factories.trees(planting, count=1)
    census_round = factories.census_round(planting)
    for cause in ("deer", "canker"):
        factories.observe(census_round, {tree: "D"}, cause=cause)
    client.force_login(factories.person("coordinator"))
    table = part(page_of(client, census_round), "Records that disagree")
    assert [(row.cells[2][0], row.cells[3][0]) for row in table["rows"]] == [("Dead", "Deer"), ("Dead", "Canker")]


@pytest.mark.parametrize(("status", "words"), [("A", "complete"), ("NV", "all recorded, not complete")])
def test_a_round_with_trees_not_visited_is_not_called_complete(client, status, words):
    """A tree noted as not visited has a record, and may still be visited before the window closes: the results leave such a round out."""
    today = timezone.localdate()
    planting, window = factories.planting(), {"opens_on": today - timedelta(5), "closes_on": today + timedelta(5)}
    trees, census_round = factories.trees(planting, count=5), factories.census_round(planting, **window)
    factories.observe(census_round, dict(zip(trees, [status, "A", "A", "A", "A"], strict=True)), observed_on=today)
    coordinator = factories.person("coordinator")
    client.force_login(coordinator)
    assert page_of(client, census_round).context["state"] == words
    site = f"Census {census_round.label} at {planting.site.name} ({planting.code})"
    assert f"{site}: {words}" in [line.text for line in today_lines(coordinator, today)]


def test_the_page_lists_what_is_missing_with_the_form_for_it(client):
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[0]: "A"})
    client.force_login(factories.person("coordinator"))
    table = part(page_of(client, census_round), "Trees without a record")
    assert [(row.cells[0][0], row.cells[-1][2]) for row in table["rows"]] == [
        (tree.tag, reverse("census_tree", args=[census_round.pk, tree.pk])) for tree in trees[1:]
    ]


def test_whoever_measures_is_not_told_the_lot_on_the_page_of_the_round(client):
    crew, lot = factories.person("volunteer"), factories.stock_lot(code="STOCK-9")
    planting = factories.planting(crew=[crew])
    factories.trees(planting, lot, count=2)
    counted_plot_add(actor=factories.person("lead"), planting=planting, code="PLOT-7", lot=lot, planted_count=40)
    address = reverse("round_detail", args=[factories.census_round(planting).pk])
    for person, is_told in ((crew, False), (factories.person("coordinator"), True)):
        client.force_login(person)
        text = client.get(address).content.decode()
        assert "PLOT-7" in text and ("STOCK-9" in text) == is_told


def test_an_auditor_reads_a_round_and_is_offered_no_way_to_enter(client):
    planting = factories.planting()
    factories.trees(planting, count=3)
    counted_plot_add(actor=factories.person(), planting=planting, code="D1", lot=factories.seed_lot(), planted_count=9)
    client.force_login(factories.person("auditor"))
    response = page_of(client, factories.census_round(planting))
    assert [label for label, _url in response.context["actions"]] == ["All records"]
    assert "/census/" not in response.content.decode() and "/counts/" not in response.content.decode()


def test_records_of_a_round_are_listed_in_walk_order_and_download(client):
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[2]: "A", trees[0]: "D"}, height_cm=12.5)
    factories.observe(factories.census_round(planting, 2), {trees[1]: "A"})
    client.force_login(factories.person("auditor"))
    url = reverse("round_records", args=[census_round.pk])
    assert [row.cells[0][0] for row in client.get(url).context["rows"]] == [trees[0].tag, trees[2].tag]
    lines = client.get(f"{url}?download=csv").content.decode("utf-8-sig").splitlines()
    assert len(lines) == 3 and planting.code in lines[1] and "12.5" in lines[1]


def test_a_new_round_is_offered_a_year_after_the_last_one(client):
    planting = factories.planting()
    factories.census_round(planting, 1)
    client.force_login(factories.person("coordinator"))
    form = client.get(f"{reverse('round_add')}?planting={planting.code}").context["form"]
    assert form["planting"].value() == planting.code
    assert (form["growing_seasons"].value(), form["label"].value()) == (2, "2020 autumn")
    # 364 days keep the day of the week: 1 Sep 2019 is a Sunday, and so is 30 Aug 2020
    assert form["opens_on"].value() == factories.day(2020, 8, 30)


def test_a_round_put_between_two_others_changes_what_they_say(client):
    """Not found at two rounds running is presumed dead; a round between them that nobody walked breaks the run."""
    planting = factories.planting()
    trees = factories.trees(planting, count=1)
    first, third = factories.census_round(planting, 1), factories.census_round(planting, 3)
    factories.observe(first, {trees[0]: "NF"})
    factories.observe(third, {trees[0]: "NF"})
    assert SurvivalTally.objects.get(round=third).presumed_dead == 1
    client.force_login(factories.person("coordinator"))
    values = {"planting": planting.code, "label": "2020", "growing_seasons": 2, "opens_on": "2020-09-01", "closes_on": "2020-10-01"}
    response = client.post(reverse("round_add"), values)
    assert response.url == reverse("round_detail", args=[CensusRound.objects.get(label="2020").pk])
    tally = SurvivalTally.objects.get(round=third)
    assert (tally.presumed_dead, tally.not_found) == (0, 1)


def test_a_window_that_closes_before_it_opens_is_refused(client):
    planting = factories.planting()
    client.force_login(factories.person("coordinator"))
    values = {"planting": planting.code, "label": "2020", "growing_seasons": 2, "opens_on": "2020-09-01", "closes_on": "2020-08-01"}
    assert "closes before it opens" in client.post(reverse("round_add"), values).content.decode()
    assert not CensusRound.objects.exists()


def round_data(planting, season, opens_on, **fields):
    closes_on = opens_on.replace(month=10, day=15)
    dates = {"opens_on": opens_on.isoformat(), "closes_on": closes_on.isoformat()}
    return {"planting": planting.code, "label": f"{opens_on.year} autumn", "growing_seasons": season} | dates | fields


@pytest.mark.parametrize(
    ("season", "year", "words"),
    [
        (2, 2027, "2 is fewer than the 5 of round “2023 autumn”, which opens before it, on 1 Sep 2023"),
        (4, 2018, "4 is more than the 1 of round “2019 autumn”, which opens after it, on 1 Sep 2019"),
    ],
)
def test_growing_seasons_that_go_backwards_are_refused(client, season, year, words):
    planting = factories.planting()
    for other in (1, 5):
        factories.census_round(planting, other)
    client.force_login(factories.person("coordinator"))
    page = client.post(reverse("round_add"), round_data(planting, season, factories.day(year, 9, 1)))
    assert words in page.context["form"].errors["growing_seasons"][0]
    rows = f"Planting,Season,Growing seasons completed,Opens,Closes\n{planting.code},new,{season},{year}-09-01,{year}-10-15\n"
    [problem] = refused(RoundSheet, rows)
    assert words in problem and "Growing seasons completed" in problem
    assert planting.rounds.count() == 2


def test_two_rounds_may_have_one_age_but_not_go_backwards(client):
    planting, other = factories.planting(), factories.planting()
    first, last = factories.census_round(planting, 1), factories.census_round(planting, 3)
    factories.census_round(other, 9)  # another planting has its own ages
    client.force_login(factories.person("coordinator"))
    client.post(reverse("round_add"), round_data(planting, 3, factories.day(2022, 9, 1)))
    assert sorted(planting.rounds.values_list("growing_seasons", flat=True)) == [1, 3, 3]
    url = reverse("round_edit", args=[first.pk])
    page = client.post(url, round_data(planting, 4, first.opens_on, label=first.label))
    assert last.label in page.context["form"].errors["growing_seasons"][0]
    client.post(url, round_data(planting, 2, first.opens_on, label=first.label))
    assert CensusRound.objects.get(pk=first.pk).growing_seasons == 2


def test_a_round_keeps_its_planting_when_it_is_changed(client):
    census_round = factories.census_round(factories.planting())
    client.force_login(factories.person("coordinator"))
    values = {"planting": factories.planting().code, "label": "late", "growing_seasons": 1}
    values |= {"opens_on": "2019-09-01", "closes_on": "2019-11-01"}
    assert client.post(reverse("round_edit", args=[census_round.pk]), values).status_code == 302
    before = census_round.planting_id
    census_round.refresh_from_db()
    assert (census_round.label, census_round.planting_id) == ("late", before)
