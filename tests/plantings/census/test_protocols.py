"""A protocol decides what a round asks for: the boxes, columns and values of the programme's own measurements follow from it."""

import csv
import io
import json

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from plantings.imports.loading import sheet_load
from plantings.models import Observation, OwnMeasurement, Protocol
from plantings.selectors.census.queue import review_queue
from plantings.selectors.census.records import records_differ
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.rounds import conflicts
from plantings.services.census.observations import observation_correct
from plantings.services.census.protocols import measurement_add, protocol_add
from plantings.services.plantings import round_save
from plantings.views.phone.data import VERSION, phone_data
from tests import factories
from tests.plantings.census.phone_batches import ms, sent
from tests.plantings.census.test_census_grid import filled, grid_url
from tests.prints.reading import page_texts
from tests.registry.audit.verify_help import faults, in_the_database

pytestmark = pytest.mark.django_db


class Here:
    """Two rounds of one planting: the first asks for height, leaf spot and crown width, the second for canker only."""

    def __init__(self):
        self.lead = factories.person("lead")
        self.crew = factories.person("volunteer")
        planting = factories.planting(crew=[self.crew])
        self.trees = factories.trees(planting, count=4)
        self.spot = factories.own_measurement(actor=self.lead, code="leaf_spot")
        numbers = {"low": 0, "high": 30, "unit": "m", "taken": "At its widest."}
        self.crown = factories.own_measurement(actor=self.lead, code="crown", name="Crown width", **numbers)
        asks = ["height", "leaf_spot_v1", "crown_v1"]
        self.protocol = factories.protocol(asks, actor=self.lead, code="leaves")
        other = factories.protocol(["canker"], actor=self.lead, code="canker_only")
        self.round = factories.census_round(planting, 1, protocol=self.protocol)
        self.other = factories.census_round(planting, 2, protocol=other)
        self.client = Client()
        self.client.force_login(self.crew)
        self.office = Client()
        self.office.force_login(self.lead)

    def send(self, census_round, *records):
        body = {"version": VERSION, "clock": ms(timezone.now()), "records": list(records)}
        address = reverse("census_phone_data", args=[census_round.pk])
        return self.client.post(address, json.dumps(body), content_type="application/json").json()["answers"]

    def load(self, census_round, headers, *cells, **given):
        head = ["Planting", "Season", "Tag", "Status", "Observed on", *headers]
        row = [census_round.planting.code, census_round.label, "T01003", "A", str(census_round.opens_on), *cells]
        content = ",".join(head) + "\n" + ",".join(row) + "\n"
        return sheet_load(actor=self.lead, kind="census", content=content.encode(), filename="census.csv", **given)


@pytest.fixture
def here():
    return Here()


def own_values():
    return dict(Observation.objects.current().order_by("tree__tag").values_list("tree__tag", "own_values"))


SPOT, CROWN = "leaf_spot_v1: Leaf spot", "crown_v1: Crown width (m)"


def test_an_own_measurement_is_keyed_sent_loaded_and_read_back(here):
    first, second, _third, _fourth = here.trees
    here.client.post(
        grid_url(here.round), filled(here.client, here.round, {first: {"status": "A", "leaf_spot_v1": "2", "crown_v1": "1.5"}})
    )
    asked = {item["field"]: item for item in phone_data(here.round, here.crew)["asked"]}
    assert list(asked) == ["height_cm", "leaf_spot_v1", "crown_v1"] and asked["crown_v1"]["unit"] == "m"
    assert [CROWN, "crown_v1"] in phone_data(here.round, here.crew)["sheet"]  # of the file a phone saves
    record = sent(second, values={"leaf_spot_v1": 0, "crown_v1": 2})
    assert [here.send(here.round, record)[0]["result"] for _ in range(2)] == ["stored", "known"]
    here.load(here.round, [SPOT, CROWN], "1", "3.25")
    stored = {"T01001": {"crown_v1": 1.5, "leaf_spot_v1": 2}, "T01002": {"crown_v1": 2.0, "leaf_spot_v1": 0},
              "T01003": {"crown_v1": 3.25, "leaf_spot_v1": 1}}  # fmt: skip
    assert own_values() == stored
    page = here.client.get(reverse("round_records", args=[here.round.pk])).content.decode()
    assert "Crown width (m)" in page and "3.25" in page and "2 most leaves" in page and "Canker" not in page
    assert "crown width 1.5 m" in here.office.get(reverse("tree_detail", args=[first.pk])).content.decode()
    sheet = here.office.get(reverse("round_records", args=[here.round.pk]), {"download": "csv"}).content.decode("utf-8-sig")
    assert {row["Tag"]: (row[SPOT], row[CROWN]) for row in csv.DictReader(io.StringIO(sheet))} == {
        "T01001": ("2", "1.5"), "T01002": ("0", "2.0"), "T01003": ("1", "3.25"),
    }  # fmt: skip
    again = sheet_load(actor=here.lead, kind="census", content=sheet.encode(), filename="again.csv")
    assert again.counts["unchanged"] == 3 and own_values() == stored


def test_a_round_neither_shows_nor_takes_what_its_protocol_leaves_out(here):
    tree = here.trees[0]
    keyed = here.client.get(grid_url(here.other)).content.decode()
    assert f"t{tree.pk}-canker_class" in keyed and "leaf_spot_v1" not in keyed and "height_cm" not in keyed
    form = here.client.get(reverse("census_tree", args=[here.other.pk, tree.pk])).content.decode()
    assert "Canker" in form and "Leaf spot" not in form and "Height" not in form
    assert [item["field"] for item in phone_data(here.other, here.crew)["asked"]] == ["canker_class"]
    [own, built_in] = here.send(here.other, sent(tree, values={"leaf_spot_v1": 1}), sent(tree, values={"height_cm": 90}))
    assert "is not a measurement of the census" in own["reason"] and "does not ask for it" in built_in["reason"]
    for header, cell in ((SPOT, "1"), ("Height (cm)", "90")):
        with pytest.raises(Exception, match="does not ask for it"):
            here.load(here.other, [header], cell)
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    ("second", "differ"), [({"leaf_spot_v1": 1, "crown_v1": 2.0}, 0), ({"crown_v1": 2.5, "leaf_spot_v1": 1}, 1), ({}, 0)]
)
def test_two_crews_with_other_own_values_disagree(here, second, differ):
    factories.observe(here.round, {here.trees[0]: "A"}, own_values={"crown_v1": 2.0, "leaf_spot_v1": 1})
    factories.observe(here.round, {here.trees[0]: "A"}, own_values=second)
    records = list(Observation.objects.all())
    assert (len(conflicts(here.round, here.lead)), records_differ(records)) == (differ, bool(differ))


def test_the_field_form_has_the_boxes_of_the_protocol(here):
    address = reverse("field_form", args=[here.round.pk])
    made = here.client.post(address, {"trees": "all", "page": "letter"})
    text = " ".join(" ".join(page_texts(made.content)).split())
    assert "Leaf spot" in text and "0–2" in text and "0 none; 1 some leaves; 2 most leaves" in text
    assert "Canker:" not in text and "Diameter" not in text


@pytest.mark.parametrize(("values", "words"), [({"leaf_spot_v1": 3}, "not in the list"), ({"crown_v1": 31}, "outside 0 to 30")])
def test_an_own_value_outside_its_range_is_refused_and_its_box_says_so(here, values, words):
    [answer] = here.send(here.round, sent(here.trees[0], values=values))
    assert answer["result"] == "refused" and words in answer["reason"]
    typed = {name: str(value) for name, value in values.items()}
    page = here.client.post(grid_url(here.round), filled(here.client, here.round, {here.trees[0]: {"status": "A"} | typed}))
    assert words.split()[-1] in page.content.decode() and not Observation.objects.exists()


def test_a_value_of_another_kind_is_refused_by_the_service(here):
    for value in ("tall", True, float("nan"), [1]):
        with pytest.raises(Exception, match="cannot be read"):
            factories.observe(here.round, {here.trees[0]: "A"}, own_values={"crown_v1": value})


def test_a_correction_carries_the_values_that_it_does_not_change(here):
    factories.observe(here.round, {here.trees[0]: "A"}, own_values={"crown_v1": 2.0, "leaf_spot_v1": 1})
    old = Observation.objects.get()
    page = here.office.get(reverse("observation_correct", args=[old.pk]))
    data = {bound.html_name: bound.value() for bound in page.context["form"] if bound.value() is not None}
    here.office.post(reverse("observation_correct", args=[old.pk]), data | {"leaf_spot_v1": "2", "reason": "misread"})
    assert own_values() == {"T01001": {"crown_v1": 2.0, "leaf_spot_v1": 2}}
    old.refresh_from_db()
    assert old.own_values["leaf_spot_v1"] == 1
    newest = Observation.objects.current().get()
    assert observation_correct(actor=here.lead, observation=newest, reason="moved", note="x").own_values == newest.own_values


def test_a_version_never_changes_and_the_next_one_is_a_new_record(here):
    with pytest.raises(ValidationError, match="same as version 1"):
        measurement_add(actor=here.lead, code="crown", name="Crown width", taken="At its widest.", unit="m", low=0, high=30)
    newer = measurement_add(actor=here.lead, code="crown", name="Crown width", taken="North to south.", unit="m", low=0, high=30)
    assert newer.field == "crown_v2" and OwnMeasurement.objects.get(code="crown", version=1).taken == "At its widest."
    assert protocol_add(actor=here.lead, code="leaves", asks=["crown_v2"]).version == 2
    for record in (here.crown, here.protocol):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            type(record)._base_manager.filter(pk=record.pk).update(code="other")
    with pytest.raises(ValidationError, match="listed twice"):
        protocol_add(actor=here.lead, code="leaves", asks=["crown_v1", "crown_v2"])


def test_verify_sees_a_changed_own_value_and_recount_is_clean(here):
    factories.observe(here.round, {here.trees[0]: "A"}, own_values={"crown_v1": 2.0})
    assert faults() == [] and recount_differences()[1] == []
    in_the_database("plantings_observation", "UPDATE plantings_observation SET own_values = %s", '{"crown_v1": 2.5}')
    [fault] = faults()
    assert "of its 1 census records at least one was changed" in fault


def test_a_round_keeps_a_protocol_that_asks_for_what_its_records_hold(here):
    factories.observe(here.round, {here.trees[0]: "A"}, own_values={"crown_v1": 2.0})
    here.round.protocol = here.other.protocol
    with pytest.raises(ValidationError, match="hold crown_v1"):
        round_save(actor=here.lead, census_round=here.round)
    here.round.protocol = protocol_add(actor=here.lead, code="leaves", asks=["crown_v1"])
    assert round_save(actor=here.lead, census_round=here.round).protocol_version == "leaves version 2"


def test_a_young_round_is_not_asked_what_starts_later(here):
    late = factories.own_measurement(actor=here.lead, code="catkins", from_season=2)
    protocol = factories.protocol([late.field], actor=here.lead)
    ages = {}
    for census_round in (here.round, here.other):
        census_round.protocol = protocol
        ages[census_round.growing_seasons] = [item["field"] for item in phone_data(census_round, here.crew)["asked"]]
    assert ages == {1: [], 2: ["catkins_v1"]}


def test_measurements_and_protocols_go_out_and_come_in_as_sheets(here):
    kinds = {"measurement": "ownmeasurement_list", "protocol": "protocol_list"}
    for kind, route in kinds.items():
        content = here.office.get(reverse(route), {"download": "csv"}).content
        plan = sheet_load(actor=here.lead, kind=kind, content=content, filename="x.csv")
        assert plan.counts["unchanged"] == 2 and not plan.counts["new"]
    text = "Code,Version,Name,Classes,How it is taken\nvigour,1,Vigour,low = poor; high = good,From the south.\n"
    sheet_load(actor=here.lead, kind="measurement", content=text.encode(), filename="m.csv")
    text = "Code,Version,Asks for\nleaves,2,vigour_v1; height\n"
    sheet_load(actor=here.lead, kind="protocol", content=text.encode(), filename="p.csv")
    assert Protocol.objects.get(code="leaves", version=2).asks == ["vigour_v1", "height"]
    text = f"Planting,Season,Protocol version\n{here.other.planting.code},{here.other.label},leaves version 2\n"
    sheet_load(actor=here.lead, kind="round", content=text.encode(), filename="r.csv", reason="asked for vigour")
    here.other.refresh_from_db()
    assert str(here.other.protocol) == "leaves version 2"


def test_a_measurement_that_only_grows_is_asked_about_and_waits_as_odd(here):
    """Grid, phone and file do the same: they ask about a lower reading by name and unit, store it, and list it as odd in the queue."""
    grows = {"name": "Crown width", "taken": "North to south.", "unit": "m", "low": "0", "high": "30"}
    for wrong, words in (({"gain_most": "2"}, "Say first"), ({"loss_most": "0.2", "unit": ""}, "Give the unit")):
        assert words in here.office.post(reverse("ownmeasurement_edit", args=[here.crown.pk]), grows | wrong).content.decode()
    here.office.post(reverse("ownmeasurement_edit", args=[here.crown.pk]), grows | {"loss_most": "0.2", "gain_most": "2"})
    crown = OwnMeasurement.objects.get(code="crown", version=2)
    shown = here.office.get(reverse("ownmeasurement_detail", args=[crown.pk])).content.decode()
    assert "only grows; a later reading may be less by 0.2 m, and more by 2 m a year" in shown
    protocol = protocol_add(actor=here.lead, code="leaves", asks=["crown_v2"])
    planting = factories.planting(crew=[here.crew])
    first, second, third = trees = factories.trees(planting, count=3)
    last, now = (factories.census_round(planting, season, protocol=protocol) for season in (1, 2))
    factories.observe(last, dict.fromkeys(trees, "A"), own_values={"crown_v2": 4.0})
    values = filled(here.client, now, {first: {"status": "A", "crown_v2": "3"}})
    asked = here.client.post(grid_url(now), values)
    assert "Crown width in m: this reading looks odd." in asked.content.decode() and not Observation.objects.filter(round=now).exists()
    here.client.post(grid_url(now), values | {"asked": asked.context["asked"]})
    data = phone_data(now, here.crew)
    assert data["asked"][0]["growth"] == [0.2, 0.0, 2.0, False] and data["last"][second.pk][1]["crown_v2"][0] == 4.0
    here.send(now, sent(second, values={"crown_v2": 3.5}))
    head = f"Planting,Season,Tag,Status,Observed on,Observer,crown_v2: Crown width (m)\n{planting.code},{now.label},{third.tag},A,"
    sheet_load(actor=here.lead, kind="census", content=f"{head}{now.opens_on},Ida,9.5\n".encode(), filename="c.csv")
    odd = {line.record.tree: line.looks[-1] for line in review_queue(now).odd}
    assert odd == {
        first: "Crown width is 3 m, last time 4 m. By its definition it only grows. Check the reading and the tag.",
        second: "Crown width is 3.5 m, last time 4 m. By its definition it only grows. Check the reading and the tag.",
        third: "Crown width is 9.5 m, last time 4 m: more than 2 m a year. Check the reading and the tag.",
    }


def test_the_lead_defines_a_measurement_and_a_protocol_on_screen(here):
    typed = {"code": "catkins", "name": "Catkins", "taken": "On one branch.", "classes": "0 = none\n1 some"}
    refused = here.office.post(reverse("ownmeasurement_add"), typed).content.decode()
    assert "“1 some” is not a class" in refused and "On one branch." in refused
    page = here.office.post(reverse("ownmeasurement_add"), typed | {"classes": "0 = none\n1 = some"})
    made = OwnMeasurement.objects.get(code="catkins")
    assert page.url == reverse("ownmeasurement_detail", args=[made.pk]) and made.classes == [[0, "none"], [1, "some"]]
    number = {"name": "Catkins", "taken": "On three branches.", "low": "0", "high": "200", "whole": "on"}
    here.office.post(reverse("ownmeasurement_edit", args=[made.pk]), number)
    here.office.post(reverse("protocol_edit", args=[here.protocol.pk]), {"asks": ["height", "catkins_v2"], "about": "In May."})
    newest = Protocol.objects.get(code="leaves", version=2)
    assert newest.asks == ["height", "catkins_v2"]
    shown = here.office.get(reverse("protocol_detail", args=[newest.pk])).content.decode()
    assert "0 to 200" in shown and "On three branches." in shown and "In May." in shown
    round_page = here.office.get(reverse("round_edit", args=[here.round.pk])).context["form"]
    values = {bound.html_name: bound.value() for bound in round_page if bound.value() is not None}
    here.office.post(reverse("round_edit", args=[here.round.pk]), values | {"protocol": newest.pk})
    here.round.refresh_from_db()
    assert (here.round.protocol, here.round.protocol_version) == (newest, "leaves version 2")
