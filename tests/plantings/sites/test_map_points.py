"""What the map shows of each site, and how exactly, to whom. Rules of the programme; common practice, no source, unless named."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from plantings.calc.survival.census_choice import read_census_choice
from plantings.models import Block
from plantings.selectors.sites.map_points import map_points
from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import count_again, counted, planting_on

pytestmark = pytest.mark.django_db

EXACT = (-73.21734, 44.48321)
# the cell of 0.1 degrees that holds the point, as in Chapman 2020, Current Best Practices for Generalizing Sensitive
# Species Occurrence Data, GBIF, doi 10.15468/doc-5jp4-5g10
CENTRE = (-73.25, 44.45)


def site(**fields):
    return factories.site(**{"longitude": EXACT[0], "latitude": EXACT[1]} | fields)


def only(user=None, moment="", open_rounds=False):
    [point] = map_points(user or factories.person(), read_census_choice(moment) if moment else None, open_rounds).points
    return point


def test_a_site_shows_its_trees_under_test_with_wilsons_interval():
    # 81/263: Newcombe 1998, Stat. Med. 17:857-872, Table I, method 3
    planting = planting_on(site(code="FALLS", name="Falls Road", jurisdiction="US-VT"))
    counted(planting, factories.stock_lot(), 263, 81, dead=182)
    counted(planting, factories.stock_lot(), 9, 7, role="check")
    point = only()
    assert (point.code, point.name, point.jurisdiction) == ("FALLS", "Falls Road", "US-VT")
    assert (point.planted, point.alive, point.n) == (263, 81, 263)
    assert (point.share, point.low, point.high) == pytest.approx((81 / 263, 0.255289, 0.366210), abs=5e-7)
    assert point.text == "After 1 growing season. Native checks: 7 of 9."


def test_the_note_on_the_checks_has_their_band():
    planting = planting_on(site())
    counted(planting, factories.stock_lot(), 20, 18)
    counted(planting, factories.stock_lot(), 20, 8, dead=8, role="check")
    # 8/20: statsmodels 0.15.0, proportion_confint(method="wilson"); the band by its definition, 8/20 to 12/20
    assert only().text == "After 1 growing season. Native checks: 0.40 (0.22–0.61), n 20, band 0.40–0.60."


def test_the_age_is_the_latest_that_all_plantings_of_the_site_share():
    place, lot = site(), factories.stock_lot()
    old, young = planting_on(place), planting_on(place)
    plot = counted(old, lot, 20, 18)
    count_again(plot, 2, alive=16)
    count_again(plot, 3, alive=10)
    count_again(counted(young, lot, 20, 12), 2, alive=8)
    assert (only().alive, only().n, only().text) == (24, 40, "After 2 growing seasons.")
    last = only(moment="age-3")
    assert (last.alive, last.n) == (10, 20)
    assert last.text == "After 3 growing seasons. Counts 1 of its 2 plantings; the others have no complete census then."


def test_plantings_without_a_common_age_are_shown_at_the_oldest_one():
    place = site()
    counted(planting_on(place), factories.stock_lot(), 20, 18, season=1)
    counted(planting_on(place), factories.stock_lot(), 20, 12, season=4)
    assert (only().alive, only().n) == (12, 20)


def test_a_site_without_a_census_of_that_age_has_no_figure():
    counted(planting_on(site(code="A")), factories.stock_lot(), 20, 18)
    site(code="B")
    points = {point.code: point for point in map_points(factories.person(), read_census_choice("age-3")).points}
    assert [(points[code].n, points[code].share, points[code].text) for code in "AB"] == [
        (0, None, "No complete census after 3 growing seasons."), (0, None, "No complete census yet."),
    ]  # fmt: skip


def test_a_round_in_which_nobody_was_visited_is_no_figure():
    planting = planting_on(site())
    factories.observe(factories.census_round(planting), dict.fromkeys(factories.trees(planting, count=12), "NV"))
    assert (only().share, only().n, only().text) == (None, 0, "No complete census yet.")


def test_checks_of_different_kinds_and_sown_seed_stand_apart():
    planting = planting_on(site())
    counted(planting, factories.stock_lot(), 20, 10)
    native, hybrid, donor = (factories.stock_lot(taxon=factories.taxon(role=role)) for role in ("native", "hybrid", "donor"))
    for lot, alive in ((native, 2), (hybrid, 10), (donor, 18)):
        counted(planting, lot, 20, alive, role="check")
    counted(planting, factories.seed_lot(), 300, 60)
    text = only().text
    assert "Native checks: 0.10 (" in text and "Other checks: 0.50 (" in text and "Donor checks: 0.90 (" in text
    assert "Under test, sown as seed: 0.20 (" in text
    assert (only().n, only().alive, only().population) == (20, 10, "planted")


def test_a_site_of_sown_seed_alone_says_so():
    counted(planting_on(site()), factories.seed_lot(), 300, 60)
    assert (only().share, only().population) == (0.2, "sown")
    assert "From seed sown in place." in only().text


def test_a_census_that_is_not_complete_leaves_the_map_at_the_last_one():
    planting = planting_on(site())
    trees = factories.trees(planting, count=10)
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees, "A"))
    factories.observe(factories.census_round(planting, 2), dict.fromkeys(trees[:3], "D"))
    assert (only().alive, only().n, only().text) == (10, 10, "After 1 growing season.")


def test_sites_of_different_age_stand_on_one_map_in_a_season_or_at_a_visit():
    for code, ages in (("A", (1, 2)), ("B", (4, 5))):
        plot = counted(planting_on(site(code=code)), factories.stock_lot(), 20, 18, season=ages[0])
        count_again(plot, ages[1], alive=8)
    lead = factories.person()
    seen = {
        moment: [(point.code, point.alive, point.text) for point in map_points(lead, read_census_choice(moment)).points]
        for moment in ("season-2020", "visit-2")
    }
    # the rounds of an age are those of as many years after the planting of 2018
    assert seen == {
        "season-2020": [("A", 8, "In 2020. Growing seasons completed: 2."), ("B", 0, "No complete census in 2020.")],
        "visit-2": [("A", 8, "At visit 2. Growing seasons completed: 2."), ("B", 8, "At visit 2. Growing seasons completed: 5.")],
    }
    assert map_points(lead, read_census_choice("visit-2")).caption == "Survival at visit 2"


def test_an_open_round_is_progress_and_marked_when_asked_for():
    planting = planting_on(site(code="A"))
    trees = factories.trees(planting, count=10)
    factories.observe(factories.census_round(planting, 1), dict.fromkeys(trees, "A"))
    factories.observe(factories.census_round(planting, 2), dict.fromkeys(trees[:3], "D"))
    lead = factories.person()
    [item] = map_points(lead).not_complete
    assert (item.part.age, item.part.progress.assessed, item.shown) == (2, 3, False)
    asked = map_points(lead, open_rounds=True)
    assert [item.shown for item in asked.not_complete] == [True]
    assert (asked.points[0].alive, asked.points[0].n) == (0, 3) and "Census not complete." in asked.points[0].text


def test_the_last_round_of_an_age_counts():
    planting = planting_on(site())
    trees = factories.trees(planting, count=10)
    autumn = factories.census_round(planting, 1)
    spring = factories.census_round(planting, 1, label="2020 spring", opens_on=factories.day(2020, 4), closes_on=factories.day(2020, 5))
    factories.observe(autumn, dict(zip(trees, ["A"] * 9 + ["D"], strict=True)))
    factories.observe(spring, dict(zip(trees, ["A"] * 6 + ["D"] * 4, strict=True)))
    assert (only().alive, only().n) == (6, 10)


def test_a_site_without_a_point_uses_the_mean_of_its_blocks():
    place = site(code="A", longitude=None, latitude=None)
    planting = planting_on(place)
    for code, lon, lat in (("1", -73.0, 44.0), ("2", -73.4, 44.2), ("3", None, None)):
        Block.objects.create(planting=planting, code=code, longitude=lon, latitude=lat)
    assert (only().lon, only().lat) == pytest.approx((-73.2, 44.1))
    assert only().text.endswith("Place: the mean of the points of its 2 blocks.")


def test_a_site_without_a_point_is_listed_without_a_place():
    site(code="A", longitude=None, latitude=None)
    seen = map_points(factories.person())
    assert (seen.points[0].lon, seen.points[0].lat, seen.located) == (None, None, [])


def test_who_sees_what_how_exactly():
    people = everyone()
    mine = site(code="MINE", name="Falls Road", partner=people["landowner"].partner)
    planting_on(mine, crew=[people["volunteer"]])
    seen = {}
    for name, person in people.items():
        seen[name] = [(p.exact, (p.lon, p.lat), p.name) for p in map_points(person).points]
    exactly, blurred = [(True, EXACT, "Falls Road")], [(False, CENTRE, "")]
    assert seen == dict.fromkeys(("lead", "coordinator", "auditor", "landowner", "volunteer"), exactly) | {
        "manager": blurred, "other landowner": [], "other volunteer": [], "unknown role": [],
    }  # fmt: skip


def test_a_generalised_place_states_its_distance_and_hides_the_name():
    site()
    point = only(factories.person("manager"))
    assert 5_000 < point.uncertainty_m < 8_000
    assert "generalised to the centre of a 0.1 by 0.1 degree grid cell" in point.data_generalizations
    assert point.data_generalizations.endswith("The name of the site is withheld.")


def test_a_hidden_site_is_on_the_map_of_its_own_people_only():
    landowner, volunteer = factories.person("landowner"), factories.person("volunteer")
    landowner.partner.map_privacy = "hidden"
    landowner.partner.save()
    planting_on(site(code="HID", partner=landowner.partner), crew=[volunteer])
    site(code="OPEN")
    seen = {}
    for role in ("lead", "coordinator", "auditor", "manager"):
        shown = map_points(factories.person(role))
        seen[role] = {point.code for point in shown.points}, shown.hidden
    assert seen == dict.fromkeys(("lead", "coordinator", "auditor"), ({"HID", "OPEN"}, 0)) | {"manager": ({"OPEN"}, 1)}
    for person in (landowner, volunteer):
        shown = map_points(person)
        assert ([point.code for point in shown.points], shown.hidden) == (["HID"], 0)


def test_outlines_go_only_with_exact_places():
    outline = {"type": "Polygon", "coordinates": [[[-73.3, 44.4], [-73.1, 44.4], [-73.1, 44.6], [-73.3, 44.4]]]}
    site(code="A", boundary=outline)
    assert [boundary["geojson"] for boundary in map_points(factories.person("lead")).boundaries] == [outline]
    assert map_points(factories.person("manager")).boundaries == ()


def test_the_cost_in_queries_does_not_grow_with_sites():
    lead = factories.person()

    def queries():
        with CaptureQueriesContext(connection) as captured:
            map_points(lead)
        return len(captured)

    counted(planting_on(site()), factories.stock_lot(), 10, 5)
    few = queries()
    for _ in range(3):
        counted(planting_on(site()), factories.stock_lot(), 10, 5)
    assert queries() == few
