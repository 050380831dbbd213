"""The field form, read back by another library (pypdfium2). What it lists: common practice, no source."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.calc.census.codes import CAUSES_OF_DEATH, REMOVAL_REASONS, STATUSES
from plantings.calc.census.measurements import FIELD_FORM, measured_at
from plantings.models import FormPage, RoundLink, Site
from plantings.views.census.field_form import ROWS_SHOWN
from registry.models import IssuedPrint
from tests import factories
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def volunteer(client):
    person = factories.person("volunteer")
    client.force_login(person)
    return person


def round_of(volunteer, trees=4, **fields):
    site = factories.site(name="Falls Road", code="FALLS", cautions="bull in the lower field", access_notes="gate on the north side")
    planting = factories.planting(code="PL-1", site=site)
    planting.crew.add(volunteer)
    planted = factories.trees(planting, factories.stock_lot(code="STOCK-9"), trees) if trees else []
    first, second = factories.census_round(planting, 1), factories.census_round(planting, 2)
    if planted:
        factories.observe(first, {planted[0]: "A"}, height_cm=142)
        factories.observe(first, {planted[1]: "D"}, cause="deer")
    return second, planted


def made(client, census_round, **data):
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all", "last": "on"} | data)
    assert answer.headers["Content-Type"] == "application/pdf", answer.content.decode()[:2000]
    return page_texts(answer.content)


def lines_with(pages, tags):
    """The tags in the order they are printed."""
    text = " ".join(pages)
    return sorted((tag for tag in tags if tag in text), key=text.index)


def test_a_volunteer_prints_the_trees_in_walk_order_as_seen_last(client, volunteer):
    census_round, trees = round_of(volunteer)
    pages = made(client, census_round)
    text = " ".join(" ".join(pages).split())
    assert lines_with(pages, [tree.tag for tree in trees]) == [tree.tag for tree in trees]
    assert "A 142" in text and "page 1 of" in text
    assert "STOCK-9" not in text  # the crew is not told which lot a tree is of
    assert not IssuedPrint.objects.exists()  # a form to fill in is not recorded as handed out


def test_cautions_and_the_way_in_come_before_the_boxes(client, volunteer):
    census_round, _trees = round_of(volunteer)
    text = " ".join(" ".join(made(client, census_round)).split())
    for words in ("bull in the lower field", "gate on the north side", "call the local emergency number", "local law comes first"):
        assert words in text and text.index(words) < text.index("In walk order")
    Site.objects.update(access_notes_fr="barrière du côté nord")
    french = " ".join(" ".join(made(client, census_round, language="fr")).split())
    assert "barrière du côté nord" in french and "north side" not in french and "bull in the lower field" in french


def test_every_code_is_on_the_field_form(client, volunteer):
    census_round, _trees = round_of(volunteer)
    text = " ".join(" ".join(made(client, census_round)).split())
    lists = (STATUSES, CAUSES_OF_DEATH, REMOVAL_REASONS, *(item.classes for item in measured_at(FIELD_FORM)))
    assert [code for codes in lists for code, *_ in codes if str(code) not in text] == []
    assert "; frost (or winter); deer;" in text and "; root_rot; drought;" in text  # no label repeats its code


def test_the_form_may_hide_last_values_and_list_only_missing_trees(client, volunteer):
    census_round, trees = round_of(volunteer)
    factories.observe(census_round, {trees[0]: "A"})
    assert "A 142" not in " ".join(made(client, census_round, last=""))
    pages = made(client, census_round, trees="missing")
    assert lines_with(pages, [tree.tag for tree in trees]) == [tree.tag for tree in trees[2:]]


def test_last_values_are_off_unless_somebody_asks_for_them(client, volunteer):
    census_round, _trees = round_of(volunteer)
    page = client.get(reverse("field_form", args=[census_round.pk])).content.decode()
    assert "checked" not in page and "A 142" not in page
    assert "Seen last" not in " ".join(made(client, census_round, last=""))  # no empty column that looks like a box


def test_the_form_says_where_the_walk_starts_and_how_it_goes(client, volunteer):
    census_round, _trees = round_of(volunteer)
    planting = census_round.planting
    planting.start_corner, planting.spacing_m = "south-west, red post", 2.5
    planting.save()
    text = " ".join(" ".join(made(client, census_round)).split())
    for words in ("Start corner: south-west, red post", f"Walk order: {planting.get_walk_display()}", "Spacing: 2.5 m"):
        assert words in text and text.index(words) < text.index("In walk order")


@pytest.mark.parametrize(("row", "panels"), [(2, ["T01001"]), (1, ["block 1 T01001", "block 2 U01001"])])
def test_the_form_draws_the_plan_by_blocks_that_number_rows_alike(client, volunteer, row, panels):
    census_round, _trees = round_of(volunteer)
    factories.trees(census_round.planting, count=4, block="2", row=row, tag="U" if row == 1 else "T")
    text = " ".join(" ".join(made(client, census_round)).split())
    plan = text[text.index("The ring is the first tree") : text.index("The codes")]
    assert [panel for panel in panels if panel not in plan] == [] and len(re.findall(r"\b[TU]\d\d001\b", plan)) == len(panels)


def test_the_form_has_spare_rows_after_the_trees(client, volunteer):
    census_round, trees = round_of(volunteer)
    text = " ".join(" ".join(made(client, census_round)).split())
    assert text.index(trees[-1].tag) < text.index("Spare rows")
    listed = [pk for page in FormPage.objects.filter(round=census_round).order_by("number") for pk in page.trees]
    assert listed == [tree.pk for tree in trees]  # no page code knows a spare row


def test_a_planting_of_counted_plots_has_a_table_for_the_counts(client, volunteer):
    from plantings.services.trees import counted_plot_add

    census_round, _ = round_of(volunteer, trees=0)
    counted_plot_add(
        actor=factories.person("lead"), planting=census_round.planting, lot=factories.stock_lot(), code="PLOT-7", planted_count=40
    )
    text = " ".join(" ".join(made(client, census_round)).split())
    assert "PLOT-7" in text and "remains" in text and "In walk order" not in text


def test_the_page_shows_the_first_rows_and_says_how_many_there_are(client, volunteer):
    census_round, trees = round_of(volunteer, trees=ROWS_SHOWN + 2)
    text = client.get(reverse("field_form", args=[census_round.pk])).content.decode()
    assert f"The first {ROWS_SHOWN} of {ROWS_SHOWN + 2} rows." in text
    assert trees[0].tag in text and trees[-1].tag not in text and "recorded as handed out" not in text


def test_another_crew_gets_no_field_form(client, volunteer):
    census_round, _ = round_of(factories.person("volunteer"))
    assert client.get(reverse("field_form", args=[census_round.pk])).status_code == 404


def test_a_coordinator_may_print_a_link_for_phones_on_the_form(client, settings):
    settings.SITE_URL = "https://mastbook.example"
    lead = factories.person("coordinator")
    client.force_login(lead)
    census_round, _trees = round_of(factories.person("volunteer"))
    census_round.closes_on = timezone.localdate()
    census_round.save()
    text = "\n".join(made(client, census_round, link="on"))
    link = RoundLink.objects.get()
    assert (link.round, link.entered_by, link.for_whom) == (census_round, lead, "whoever holds the field form")
    assert "Scan the QR code with a phone" in text


def test_a_link_that_would_have_ended_is_not_printed(client, settings):
    settings.SITE_URL = "https://mastbook.example"
    client.force_login(factories.person("coordinator"))
    census_round, _trees = round_of(factories.person("volunteer"))
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all", "link": "on"})
    assert "15 Oct 2020 has passed." in answer.content.decode()
    assert not RoundLink.objects.exists()


def test_a_volunteer_is_offered_no_link_on_the_form(client, volunteer, settings):
    settings.SITE_URL = "https://mastbook.example"
    census_round, _trees = round_of(volunteer)
    assert "Make a link for phones" not in client.get(reverse("field_form", args=[census_round.pk])).content.decode()
    made(client, census_round, link="on")
    assert not RoundLink.objects.exists()


@pytest.mark.parametrize(
    ("reader", "crew", "expected"),
    [("fr", [], "Formulaire"), ("en", [], "Field form"), ("fr", ["en"], "Field form"), ("en", ["fr"], "Formulaire"),
     ("fr", ["fr", "en"], "Formulaire"), ("en", ["fr", "en"], "Field form")],
)  # fmt: skip
def test_the_form_is_in_the_language_of_the_crew_else_of_its_reader(client, volunteer, settings, reader, crew, expected):
    census_round, _trees = round_of(volunteer)
    census_round.planting.crew.add(*(factories.person("volunteer", language=language) for language in crew))
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = reader  # chosen on the page, and nothing is on file with the account
    page = client.get(reverse("field_form", args=[census_round.pk]))
    assert page.context["form"].initial["language"] == {"Formulaire": "fr", "Field form": "en"}[expected]
    assert expected in " ".join(made(client, census_round, last=""))
