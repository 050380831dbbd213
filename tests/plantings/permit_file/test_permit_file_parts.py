"""What else a permit file holds: answers rule by rule, training and cautions, flowering, a map, and until when to keep it."""

import datetime
import io
import json
from uuid import uuid4

import geopandas
import pytest
from django.urls import reverse
from django.utils import timezone

from plantings.services.census.batch import census_batch_receive
from registry.choices import ProgrammeKey
from registry.models import CautionSeen
from registry.services.duties.duties import duty_done_enter
from registry.services.people.programme import programme_setting_save
from registry.services.safety.cautions import caution_add, cautions_read
from tests import factories
from tests.plantings.permit_file.permit_scene import made_zip, pdf_text, rows_of, table, unpacked, with_duties

pytestmark = pytest.mark.django_db


def records(files, name):
    head, *rows = table(files, name)
    return [dict(zip(head, row, strict=True)) for row in rows]


def printed(client, paper):
    return " ".join(pdf_text(client.post(reverse("authorization_file", args=[paper.pk]), {"page": "a4", "pdf": "yes"}).content))


# -- answers rule by rule ------------------------------------------------------------------------------------


def test_the_zip_has_each_answer_rule_by_rule_with_its_edition(client, gated):
    client.force_login(gated.lead)
    found = records(unpacked(made_zip(client, gated.paper)), "rules")
    [rule] = [row for row in found if row["Rule"] == "R1"]
    assert (rule["Edition"], rule["Title"], rule["Found"], rule["Papers"], rule["Lots"]) == (
        "2026", "A permit to ship", "met", "P-1", "STOCK-1",
    )  # fmt: skip
    assert (rule["Shipment or planting"], rule["Read in"], rule["Verified on"]) == ("SH-2", "invented", "")
    assert "not verified" in rule["Verification"]


def test_a_rule_changed_later_is_shown_as_it_was_answered(client, gated):
    from registry.models import Requirement

    Requirement.objects.update(title="Changed", source="changed")
    client.force_login(gated.lead)
    [rule] = [row for row in records(unpacked(made_zip(client, gated.paper)), "rules") if row["Rule"] == "R1"]
    assert (rule["Title"], rule["Read in"]) == ("A permit to ship", "invented")
    assert [row[3] for row in rows_of(client, gated.paper, "rules") if row[3]] == ["R1"]
    assert "A permit to ship" in printed(client, gated.paper)


# -- people: training and cautions -----------------------------------------------------------------------------


def test_the_file_says_who_was_trained_and_who_read_which_cautions(client, scene):
    crew = factories.person("volunteer", first_name="Tom", last_name="Stem")
    other = factories.person("volunteer", first_name="Not", last_name="Here")
    scene.planting.crew.add(crew)
    for person in (crew, other):
        duty = factories.duty(
            actor=scene.lead, kind="training", title="Field day", first_due_on=factories.day(2019, 3, 1), responsible=person
        )
        duty_done_enter(
            actor=scene.lead, duty=duty, due_on=factories.day(2019, 3, 1), done_on=factories.day(2019, 2, 20), by="A", evidence="list 3"
        )
    factories.duty(actor=scene.lead, kind="training", title="Refresher", first_due_on=factories.day(2020, 3, 1), responsible=crew)
    caution_add(
        actor=scene.lead, code="TICKS", task="census", hazard="Ticks", text="Check.", decider="you", in_use_from=factories.day(2019)
    )
    for person in (crew, other):
        cautions_read(actor=person, task="census", subject="round 1", versions=["TICKS 1"])
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    trained = [(row["Person"], row["Training"], row["Due on"], row["Done on"], row["Evidence"]) for row in records(files, "training")]
    assert trained == [
        ("Tom Stem", "Field day", "2019-03-01", "2019-02-20", "list 3"), ("Tom Stem", "Refresher", "2020-03-01", "", ""),
    ]  # fmt: skip
    [read] = records(files, "cautions")
    assert (read["Person"], read["Task"], read["For"], read["Cautions, with their versions"]) == (
        "Tom Stem",
        "census",
        "round 1",
        "TICKS 1",
    )
    assert datetime.datetime.fromisoformat(read["Read at"]) == CautionSeen.objects.get(person=crew).seen_at


def test_the_file_says_who_read_the_cautions_of_its_rounds(client, scene):
    crew = factories.person("volunteer", first_name="Tom", last_name="Stem")
    here, elsewhere = (factories.census_round(planting, 9, label="now") for planting in (scene.planting, factories.planting()))
    for census_round, name in ((here, "Tom Stem"), (here, "Mia"), (elsewhere, "Tom Stem")):
        record = {"kind": "cautions", "uuid": str(uuid4()), "observer": name, "at": 0, "wording": "ab" * 32}
        census_batch_receive(actor=crew, census_round=census_round, sent=[record], clock_ms=0)
    client.force_login(scene.lead)
    read = [(row["Round"], row["Person"], row["Wording"]) for row in records(unpacked(made_zip(client, scene.paper)), "cautions_of_rounds")]
    assert read == [(str(here), "Tom Stem", "ab" * 6), (str(here), "Mia", "ab" * 6)]
    page = client.get(reverse("round_detail", args=[here.pk])).content.decode()
    assert "Mia" in page and "an earlier one" in page


# -- flowering -------------------------------------------------------------------------------------------------


def test_the_file_counts_flowering_by_round_and_lot(client, scene):
    scene.census()
    client.force_login(scene.lead)
    found = records(unpacked(made_zip(client, scene.paper)), "flowering")
    names = ("Planting", "Lot", "Looked for", "None", "Male", "Female", "Both", "First seen in flower")
    # 2019: 1 with catkins, 26 without; 2020: two with both, one of them for the first time
    assert [tuple(row[name] for name in names) for row in found] == [
        ("PL-1", "STOCK-1", "27", "26", "1", "0", "0", "1"), ("PL-1", "STOCK-1", "2", "0", "0", "0", "2", "1"),
    ]  # fmt: skip
    assert "Flowering: 2" in printed(client, scene.paper)


def test_a_file_without_a_look_for_flowers_says_so(client, scene):
    client.force_login(scene.lead)
    assert "Nobody has recorded whether these trees flower." in printed(client, scene.paper)


# -- a map -----------------------------------------------------------------------------------------------------


def test_the_zip_has_a_map_file_that_another_library_reads(client, scene):
    client.force_login(scene.lead)
    files = unpacked(made_zip(client, scene.paper))
    frame = geopandas.read_file(io.BytesIO(files["map.geojson"]))
    [site] = frame.itertuples()
    assert (site.code, site.name, site.under_this_paper) == ("SITE-1", scene.planting.site.name, 30)
    assert (site.geometry.x, site.geometry.y) == (scene.planting.site.longitude, scene.planting.site.latitude)
    assert site.plantings == "PL-1" and frame.crs.to_epsg() == 4326


def test_the_print_has_a_map_with_a_key(client, scene):
    client.force_login(scene.lead)
    text = printed(client, scene.paper)
    assert f"1 SITE-1 {scene.planting.site.name}" in text and "Lines: US Census Bureau, Natural Earth" in text


def test_a_map_for_somebody_without_exact_positions_is_generalised(client, scene, monkeypatch):
    monkeypatch.setattr("plantings.views.permit_file.files.exact_for", lambda user: False)
    client.force_login(scene.lead)
    [feature] = json.loads(unpacked(made_zip(client, scene.paper))["map.geojson"])["features"]
    assert feature["geometry"]["coordinates"] != [scene.planting.site.longitude, scene.planting.site.latitude]
    assert feature["properties"]["position_is_exact"] is False and feature["properties"]["data_generalizations"]


def test_a_paper_without_a_place_has_no_map(client, scene):
    paper = factories.authorization(actor=scene.lead, code="P-NONE")
    client.force_login(scene.lead)
    assert "map.geojson" not in unpacked(made_zip(client, paper)) and "Natural Earth" not in printed(client, paper)


# -- until when to keep it -------------------------------------------------------------------------------------


def kept(client, paper):
    facts = client.get(reverse("authorization_file", args=[paper.pk])).context["facts"]
    return next(value for label, value, _url in facts if label == "Store it")


def years(actor, number):
    programme_setting_save(actor=actor, key=ProgrammeKey.KEEP_YEARS, value=str(number), owner="The lead", set_on=factories.day(2026))


def test_without_a_number_of_years_a_file_is_kept_without_limit(client, scene):
    client.force_login(scene.lead)
    assert kept(client, scene.paper) == (
        "without limit, until the programme sets a number of years. The paper, its issuer or the law of the place may ask for longer."
    )
    assert "without limit" in printed(client, scene.paper)


def test_a_file_is_kept_while_trees_or_duties_or_the_paper_go_on(client, scene):
    scene.census()
    with_duties(scene)
    years(scene.lead, 10)
    client.force_login(scene.lead)
    # 22 alive, 1 not found and 1 not visited of 30
    assert kept(client, scene.paper).startswith(
        "10 years after all of this has ended: the paper, which names no last day; 1 duty not closed; 24 trees not known to be dead."
    )


def test_a_file_whose_paper_and_duties_have_ended_has_a_day(client, scene):
    years(scene.lead, 5)
    paper = factories.authorization(
        actor=scene.lead, code="P-OLD", state="closed", starts_on=factories.day(2018), ends_on=factories.day(2020, 12, 31)
    )
    client.force_login(scene.lead)
    assert kept(client, paper).startswith("until 31 Dec 2025 at least: 5 years after its last day, 31 Dec 2020.")
    assert timezone.localdate() > datetime.date(2025, 12, 31)
