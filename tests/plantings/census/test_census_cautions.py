"""Cautions before a census: above the form, never in its way, recorded as read by version, printed with a visit."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils.translation import override

from plantings.models import CensusRound, Observation, Site
from plantings.views.land.parts import caution_part
from plantings.views.phone.data import phone_data
from registry.models import CautionSeen
from tests import factories
from tests.registry.safety.test_cautions import caution

pytestmark = pytest.mark.django_db


@pytest.fixture
def walk(client):
    """(round in autumn, its trees, the volunteer of the crew, who is signed in), with cautions of our own."""
    volunteer = factories.person("volunteer")
    site = factories.site(code="ST-77", access_notes="Gate code 4711.")
    planting = factories.planting(site=site, crew=[volunteer])
    trees = factories.trees(planting, count=3)
    client.force_login(volunteer)
    caution("LOOKUP", task="census", hazard="Dead limbs", text="Look for hung trees.")
    caution("TICKS", months=[5, 6], text="Check all over.")
    caution("HUNT", months=[9, 10], text="Bright orange.")
    caution("WELL", site_codes=["ST-77"], text="Keep off the planks.")
    caution("CLIFF", site_codes=["ST-78"], text="Keep off the edge.")
    return factories.census_round(planting, 2), trees, volunteer


def pages(census_round, tree):
    return [reverse("census_tree", args=[census_round.pk, tree.pk]), reverse("census_grid", args=[census_round.pk])]


def send(client, census_round, tree, **values):
    values = {"uuid": str(uuid4()), "status": "A", "observed_on": str(census_round.opens_on), "observer": "T."} | values
    return client.post(pages(census_round, tree)[0], values)


def test_cautions_of_task_season_and_site_are_above_the_form(client, walk):
    census_round, trees, _volunteer = walk
    for address in pages(census_round, trees[0]):
        page = client.get(address).content.decode()
        form = page.index('id="record-form"')
        for words in ("Look for hung trees.", "Bright orange.", "Keep off the planks.", "the local manager may stop work"):
            assert 0 < page.index(words) < form, words
        assert "Check all over." not in page and "Keep off the edge." not in page and "Look up first" not in page
        assert "call the local emergency number. You are at Test site (ST-77), 44.50000° N, 73.20000° W." in page
        assert "Gate code 4711." in page and "hidden" not in page[form:].split(">")[0]


def test_a_record_is_stored_whether_the_cautions_were_read_or_not(client, walk):
    census_round, trees, _volunteer = walk
    assert send(client, census_round, trees[0]).status_code == 302
    assert Observation.objects.count() == 1 and not CautionSeen.objects.exists()


def test_cautions_that_were_read_come_back_when_their_wording_changes(client, walk):
    census_round, trees, volunteer = walk
    versions = ["HUNT 1", "LOOKUP 1", "WELL 1"]
    send(client, census_round, trees[0], cautions_read="yes", caution_version=versions)
    seen = CautionSeen.objects.get()
    assert (seen.person, seen.task, seen.versions, seen.subject) == (volunteer, "census", versions, str(census_round))
    address = pages(census_round, trees[1])[0]
    page = client.get(address).content.decode()
    assert "cautions_read" not in page and "Look for hung trees." in page
    caution("HUNT", months=[9, 10], text="Orange on dogs too.")
    assert "cautions_read" in client.get(address).content.decode()


def test_a_record_that_is_refused_keeps_the_tick_and_stores_nothing(client, walk):
    census_round, trees, _volunteer = walk
    page = send(client, census_round, trees[0], status="D", height_cm="-4", cautions_read="yes", caution_version=["HUNT 1"])
    assert page.status_code == 200 and 'value="yes" form="record-form" checked' in page.content.decode()
    assert not CautionSeen.objects.exists() and not Observation.objects.exists()


def test_the_grid_and_the_plot_counts_keep_what_was_read(client, walk):
    census_round, trees, volunteer = walk
    page = client.get(pages(census_round, trees[0])[1])
    grid = page.context["grid"]
    data = {field.html_name: field.value() or "" for line in grid.lines for field in line.form}
    data |= {field.html_name: field.value() or "" for field in grid.head} | {"observed_on": str(census_round.opens_on)}
    client.post(pages(census_round, trees[0])[1], data | {"cautions_read": "yes", "caution_version": ["WELL 1"]})
    assert CautionSeen.objects.get().versions == ["WELL 1"]


def test_pages_of_round_and_planting_show_the_cautions_of_the_visit(client, walk):
    census_round, _trees, _volunteer = walk
    round_page = client.get(reverse("round_detail", args=[census_round.pk])).content.decode()
    assert "Before a visit in October" in round_page  # the window of 2020 is over; the nearest day of it counts
    for words in ("Look for hung trees.", "Bright orange.", "Keep off the planks.", "the local manager may stop work", "emergency number"):
        assert words in round_page
    planting_page = client.get(reverse("planting_detail", args=[census_round.planting_id])).content.decode()
    for words in ("Before a visit in", "Look for hung trees.", "Keep off the planks.", "the local manager may stop work"):
        assert words in planting_page


def test_without_own_cautions_the_usual_ones_are_shown(client):
    volunteer = factories.person("volunteer")
    planting = factories.planting(crew=[volunteer])
    [tree] = factories.trees(planting, count=1)
    client.force_login(volunteer)
    census_round = factories.census_round(planting)
    page = client.get(pages(census_round, tree)[0]).content.decode()
    assert "Look up first: dead limbs" in page and "cautions_read" not in page


def test_a_manager_who_may_not_know_the_place_is_told_its_name_only(client, walk):
    census_round, _trees, _volunteer = walk
    client.force_login(factories.person("manager"))
    page = client.get(reverse("round_detail", args=[census_round.pk])).content.decode()
    assert "You are at Test site (ST-77)." in page and "44.5" not in page and "Gate code" not in page


def test_cautions_are_in_the_language_of_the_reader_or_marked_as_english(client, walk, settings):
    """The form, the phone and the landowner's page: what has French words shows them, and no other caution is left out."""
    census_round, trees, volunteer = walk
    caution("HUNT", months=[9, 10], text="Orange on dogs too.", hazard_fr="Chasse", text_fr="Orange vif.", decider_fr="la garde")
    Site.objects.filter(code="ST-77").update(cautions="Old well.", cautions_fr="Vieux puits.", access_notes_fr="Code 4711.")
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    french, english = "Orange vif.", "En anglais\N{NO-BREAK SPACE}:"
    for address in pages(census_round, trees[0]):
        page = client.get(address).content.decode()
        assert french in page and "Vieux puits." in page and "Le chemin\N{NO-BREAK SPACE}: Code 4711." in page
        assert "Gate code" not in page and "Orange on dogs too." not in page and "Old well." not in page
        marked = page.count(f'<em>{english}</em> <span lang="en">')  # also for whoever hears the page
        assert marked == page.count(english) >= 2 and "Look for hung trees." in page and "Keep off the planks." in page
    safety = phone_data(CensusRound.objects.get(), volunteer)["local"]["fr"]["safety"]
    assert (
        safety["here"] == ["Vieux puits."] and "Chasse\N{NO-BREAK SPACE}: Orange vif. Décidé sur place par la garde." in safety["cautions"]
    )
    assert f"{english} Dead limbs: Look for hung trees. Decided locally by the crew lead." in safety["cautions"]
    send(client, census_round, trees[0], cautions_read="yes", caution_version=["HUNT 2"])
    assert CautionSeen.objects.get().language == "fr"
    Site.objects.filter(code="ST-77").update(cautions_fr="")
    with override("fr"):
        [part] = caution_part(Site.objects.get(code="ST-77"), factories.day(2026, 9))["here"]
    assert part == f"{english} Old well."
