"""What crews read of a programme's own measurement and of the start corner, in their language or in English and marked as such."""

import re
from datetime import date

import pytest
from django.conf import settings
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse
from django.utils.translation import gettext, override

from plantings.calc.census.changes import compare_with_last
from plantings.calc.census.rows import LastSeen, SeenRow
from plantings.imports.loading import sheet_load
from plantings.models import MeasurementWords, OwnMeasurement, Planting
from plantings.selectors.census.asked import asked_at
from plantings.services.census.plot_counts import plot_count_record
from plantings.services.census.protocols import measurement_add, measurement_say
from plantings.services.census.reviews import records_review
from plantings.services.sites import texts_check
from plantings.services.trees import counted_plot_add
from plantings.views.phone.data import phone_data
from plantings.views.phone.words import phone_words
from registry.calc.shared.part_dates import PartDate
from registry.imports.sheets.plan import SheetRefused
from tests import factories
from tests.plantings.census.test_field_form import made
from tests.registry.audit.verify_help import faults, in_the_database

pytestmark = pytest.mark.django_db
FRENCH = {"name": "Taches foliaires", "taken": "Feuilles à portée.", "classes": "0 = aucune; 1 = quelques feuilles; 2 = la plupart"}
MARK = "En anglais\N{NO-BREAK SPACE}:"


@pytest.fixture
def here():
    """(round that asks for leaf spot and crown width, lead, volunteer of its crew)."""
    lead, crew = factories.person("lead"), factories.person("volunteer")
    planting = factories.planting(crew=[crew], start_corner="south-west, red post")
    factories.trees(planting, count=2)
    spot = factories.own_measurement(actor=lead, code="leaf_spot")
    factories.own_measurement(actor=lead, code="crown", name="Crown width", low=0, high=30, unit="m", taken="At its widest.")
    measurement_say(actor=lead, measurement=spot, language="fr", **FRENCH)
    protocol = factories.protocol(["height", "leaf_spot_v1", "crown_v1"], actor=lead, code="leaves")
    return factories.census_round(planting, 1, protocol=protocol), lead, crew


def french(person):
    client = Client()
    client.force_login(person)
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "fr"
    return client


def test_each_way_to_record_shows_the_reader_s_words_or_marks_english(here):
    census_round, _lead, crew = here
    client = french(crew)
    tree = census_round.planting.trees.first()
    form = client.get(reverse("census_tree", args=[census_round.pk, tree.pk])).content.decode()
    grid = client.get(reverse("census_grid", args=[census_round.pk])).content.decode()
    for page in (form, grid):
        assert "Taches foliaires" in page and "quelques feuilles" in page and "some leaves" not in page
    assert re.search('<div class="field [^"]*" lang="en">\\s*<label[^>]*>Crown width', form)
    assert '<th scope="col" lang="en">Crown width' in grid and '<th scope="col">Taches foliaires' in grid
    paper = " ".join(" ".join(made(client, census_round, language="fr")).split())  # without its no-break spaces
    assert "Taches foliaires : Feuilles à portée." in paper and "2 la plupart" in paper
    assert "En anglais : Crown width : At its widest." in paper and "En anglais : south-west, red post" in paper
    local = phone_data(census_round, crew)["local"]["fr"]
    asked = {item["field"]: item for item in local["asked"]}
    assert asked["leaf_spot_v1"]["classes"][2] == [2, "la plupart"] and asked["leaf_spot_v1"]["lang"] == ""
    assert (asked["crown_v1"]["label"], asked["crown_v1"]["lang"]) == ("Crown width", "en")
    assert local["way"]["corner"] == f"{MARK} south-west, red post"
    Planting.objects.update(start_corner_fr="sud-ouest, poteau rouge")
    page = client.get(reverse("planting_detail", args=[census_round.planting_id])).content.decode()
    assert "sud-ouest, poteau rouge" in page and "red post" not in page
    assert "Taches foliaires" in client.get(reverse("help")).content.decode()


def test_a_column_head_in_english_alone_carries_its_language(here):
    census_round, lead, crew = here
    for tree in census_round.planting.trees.all():
        factories.observe(census_round, {tree: "A"}, actor=lead, own_values={"leaf_spot_v1": 1, "crown_v1": 2})
    client = french(crew)
    page = client.get(reverse("round_records", args=[census_round.pk])).content.decode()
    assert '<span lang="en">Crown width (m)</span></th>' in page and ">Taches foliaires</th>" in page
    owner = factories.person("landowner", partner=census_round.planting.site.partner)
    measured = french(owner).get(reverse("survival_measured"), {"measure": "crown_v1"}).content.decode()
    assert '<span lang="en">At its widest.</span>' in measured
    client.cookies[settings.LANGUAGE_COOKIE_NAME] = "en"
    assert ">Crown width (m)</th>" in client.get(reverse("round_records", args=[census_round.pk])).content.decode()


def test_words_change_without_a_new_version_and_never_in_place(here):
    census_round, lead, _crew = here
    spot = OwnMeasurement.objects.get(code="leaf_spot")
    with pytest.raises(ValidationError, match="words on file"):
        measurement_say(actor=lead, measurement=spot, language="fr", **FRENCH)
    for wrong in ("0 = aucune; 2 = la plupart", ""):
        with pytest.raises(ValidationError, match="codes 0, 1, 2 in this order|Write the codes"):
            measurement_say(actor=lead, measurement=spot, language="fr", **FRENCH | {"classes": wrong})
    measurement_say(actor=lead, measurement=spot, language="fr", **FRENCH | {"name": "Taches des feuilles"})
    with override("fr"):
        assert asked_at(census_round)[1].label.others["fr"] == "Taches des feuilles"
    assert (OwnMeasurement.objects.filter(code="leaf_spot").count(), MeasurementWords.objects.count()) == (1, 2)
    assert not faults()
    in_the_database("plantings_measurementwords", "UPDATE plantings_measurementwords SET name = 'Rouille' WHERE name = %s", FRENCH["name"])
    assert any("words" in fault.lower() for fault in map(str, faults()))


def test_the_office_sees_what_has_no_french_and_writes_it(here):
    _round, lead, _crew = here
    client = Client()
    client.force_login(lead)
    crown = OwnMeasurement.objects.get(code="crown")
    address = reverse("ownmeasurement_words", args=[crown.pk])
    assert "Not on file in" in client.get(crown_page := reverse("ownmeasurement_detail", args=[crown.pk])).content.decode()
    answer = client.post(address, {"language": "fr", "name": "Largeur de la cime", "taken": "Au plus large.", "unit": ""})
    assert answer.status_code == 302
    page = client.get(crown_page).content.decode()
    assert "Largeur de la cime" in page and "Not on file in" not in page
    newer = measurement_add(actor=lead, code="crown", name="Crown width", low=0, high=40, unit="m", taken="At its widest.")
    box = client.get(reverse("ownmeasurement_words", args=[newer.pk])).context["form"]
    assert box["name"].value() == "Largeur de la cime"  # to look through again, not taken over unread
    assert "Start corner in French" not in client.get(reverse("planting_detail", args=[Planting.objects.get().pk])).content.decode()


def test_a_sheet_brings_the_french_and_changes_it_alone(here):
    _round, lead, _crew = here
    client = Client()
    client.force_login(lead)
    sheet = client.get(reverse("ownmeasurement_list") + "?download=csv").content.decode()
    assert "Taches foliaires" in sheet and "0 = aucune; 1 = quelques feuilles; 2 = la plupart" in sheet
    head = ["Code", "Version", "Name", "Unit", "Lowest value", "Highest value", "How it is taken", "Name (French)"]
    cells = ["crown", "1", "Crown width", "m", "0", "30", "At its widest.", "Largeur"]
    with pytest.raises(SheetRefused) as refused:
        load(lead, head, cells)
    assert refused.value.plan.problems[0].column == "How it is taken (French)"
    load(lead, [*head, "How it is taken (French)"], [*cells, "Au plus large."])
    crown = OwnMeasurement.objects.get(code="crown")
    assert crown.in_languages.get().name == "Largeur" and crown.version == 1


def load(lead, head, cells):
    text = "\n".join([",".join(head), ",".join(cells)])
    return sheet_load(actor=lead, kind="measurement", filename="m.csv", content=text.encode(), reason="words of the crew")


def test_a_corner_in_french_needs_its_english(here):
    planting = here[0].planting
    planting.start_corner, planting.start_corner_fr = "", "sud-ouest"
    with pytest.raises(ValidationError, match="English too"):
        texts_check(planting, ("start_corner",))


def test_a_month_or_a_year_alone_reads_as_a_date(here):
    """“le 12 septembre 2019” has an article, which neither “septembre 2019” nor “2019” takes; in English the same holds for “on”."""
    census_round, lead, crew = here
    tree = census_round.planting.trees.first()
    factories.observe(census_round, {tree: "A"}, actor=lead, observed_on=PartDate(2019, 9))
    plot = counted_plot_add(actor=lead, planting=census_round.planting, code="D1", lot=factories.seed_lot(), planted_count=9)
    plot_count_record(actor=lead, census_round=census_round, plot=plot, alive=4, observed_on=PartDate(2019))
    pages = [reverse("census_tree", args=[census_round.pk, tree.pk]), reverse("census_counts", args=[census_round.pk])]
    client = french(crew)
    for language, dates in (("fr", ("septembre 2019", "2019")), ("en", ("Sep 2019", "2019"))):
        client.cookies[settings.LANGUAGE_COOKIE_NAME] = language
        with override(language):
            last = phone_words()["lastCount"] % {"day": "2019", "alive": 4, "dead": 0}
        for text, day in zip((*(client.get(page).content.decode() for page in pages), last), (*dates, "2019"), strict=True):
            assert day in text and not re.search(rf"\b(le|du|au|on) {day}\b", text), text


def test_records_list_classes_and_numbers_in_the_reader_s_language(here):
    census_round, lead, crew = here
    tree = census_round.planting.trees.first()
    factories.observe(census_round, {tree: "A"}, actor=lead, height_cm=94.5, own_values={"leaf_spot_v1": 1, "crown_v1": 3})
    shown = french(crew).get(reverse("round_records", args=[census_round.pk])).content.decode()
    assert "1 quelques feuilles" in shown and "some leaves" not in shown
    assert re.search(r">\s*94,5\s*<", shown) and re.search(r">\s*3\s*<", shown)


def test_a_question_about_a_status_says_its_word_and_its_code():
    row = SeenRow(status="A", observed_on=date(2026, 9, 12))
    [found] = compare_with_last(row, LastSeen("D"))
    with override("fr"):
        assert found.said(gettext).startswith("Noté Mort (D) la dernière fois, et vivant maintenant.")


def test_records_on_pages_name_own_measurements_as_their_reader_does(here):
    """The words of leaf spot are those of FRENCH and of the factory; the unit of the crown width is that of the fixture."""
    census_round, lead, crew = here
    tree = census_round.planting.trees.first()
    factories.observe(census_round, {tree: "A"}, actor=crew, own_values={"leaf_spot_v1": 2, "crown_v1": 3.5})
    record = tree.observations.get()
    pages = {name: reverse(name, args=[census_round.pk]) for name in ("round_detail", "round_review", "census_grid")}
    pages["observation_correct"] = reverse("observation_correct", args=[record.pk])
    pages["census_tree"] = reverse("census_tree", args=[census_round.pk, tree.pk])
    office = Client()
    office.force_login(lead)
    records_review(actor=lead, observations=[record], state="asked_back", reason="two crowns?")
    for name, address in pages.items():
        if name != "round_review":  # the office alone reviews, in English
            assert "taches foliaires 2" in french(crew).get(address).content.decode().lower(), name
        text = office.get(address).content.decode().lower()
        assert "leaf spot 2" in text and "3.5 m" in text, name


def test_a_class_on_record_is_said_in_words_of_the_reader(here):
    earlier, lead, crew = here
    protocol = factories.protocol(["height", "browse", "flowering"], actor=lead, code="signs")
    census_round = factories.census_round(earlier.planting, 2, protocol=protocol)
    tree = earlier.planting.trees.first()
    factories.observe(census_round, {tree: "A"}, browse_class="none", flowering="both")
    page = french(crew).get(reverse("tree_detail", args=[tree.pk])).content.decode()
    assert "brout\N{NO-BREAK SPACE}: aucun, fleurs\N{NO-BREAK SPACE}: mâles et femelles" in page
