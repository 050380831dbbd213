"""Reviews and sheets: rows that whoever loads them takes as accepted, and rejected records that come again."""

import csv
import datetime
import io

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from plantings.choices import Arrival, ReviewState
from plantings.imports.census import CensusSheet
from plantings.imports.loading import sheet_load
from plantings.models import Observation, ReviewTally
from plantings.selectors.census.recount import recount_differences
from plantings.selectors.census.results import newest_of
from plantings.selectors.survival.survival import survival_rows
from plantings.services.census.results import round_result_give_out
from plantings.services.census.reviews import records_review
from registry.imports.sheets.formats import export_bytes
from registry.services.people.programme import programme_setting_save
from tests import factories

pytestmark = pytest.mark.django_db
HEAD = "Planting,Season,Tag,Status,Observed on,Height (cm),Accepted (yes/no)\n"


@pytest.fixture
def here():
    planting = factories.planting()
    trees = factories.trees(planting, count=3)
    return factories.census_round(planting, label="2019 autumn"), trees, factories.person()


def load(here, *rows, actor=None, **given):
    census_round, _trees, lead = here
    text = HEAD + "".join(f"{census_round.planting.code},2019 autumn,{row}\n" for row in rows)
    return sheet_load(actor=actor or lead, kind="census", content=text.encode(), filename="census.csv", **given)


def load_again(actor, content):
    return sheet_load(actor=actor, kind="census", content=content.encode(), filename="census.csv")


def arrivals():
    return dict(Observation.objects.unsuperseded().values_list("tree__tag", "arrived_as"))


def test_a_row_is_received_unless_its_loader_says_accepted(here):
    census_round, trees, _lead = here
    load(here, "T01001,A,2019-09-10,50,yes", "T01002,A,2019-09-10,50,", "T01003,A,2019-09-10,50,no")
    assert arrivals() == {"T01001": Arrival.ACCEPTED, "T01002": Arrival.RECEIVED, "T01003": Arrival.RECEIVED}
    assert ReviewTally.objects.get(round=census_round).unread == 2 and recount_differences()[1] == []


def test_accepted_can_be_said_once_for_all_rows(here):
    spec = {"columns": {"planting": "Planting", "round": "Season", "tag": "Tag", "status": "Status", "observed_on": "Observed on",
                        "accepted": {"constant": "yes"}}}  # fmt: skip
    load(here, "T01001,A,2019-09-10,,", "T01002,D,2019-09-10,,", spec=spec)
    assert set(arrivals().values()) == {Arrival.ACCEPTED}


def test_only_who_reviews_records_takes_rows_as_accepted(here):
    load(here, "T01001,A,2019-09-10,50,yes", actor=factories.person("volunteer"))
    assert arrivals() == {"T01001": Arrival.RECEIVED}


def test_a_rejected_record_does_not_come_back_with_the_same_sheet(here):
    census_round, trees, lead = here
    row = "T01001,A,2019-09-10,50,yes"
    load(here, row)
    records_review(actor=lead, observations=Observation.objects.all(), state=ReviewState.REJECTED, reason="another tree")
    plan = load(here, row)
    assert plan.counts["unchanged"] == 1 and Observation.objects.count() == 1
    [said] = map(str, plan.warnings)
    assert said.startswith("row 2, column 'Tag': 'T01001' is on file with the same values and was rejected: this row stores nothing")
    plan = load(here, "T01001,A,2019-09-10,80,yes", reason="measured again")
    assert plan.counts["changed"] == 1 and Observation.objects.current().get().height_cm == 80
    assert recount_differences()[1] == []


def test_the_download_says_what_is_accepted(here):
    census_round, trees, lead = here
    load(here, "T01001,A,2019-09-10,50,yes", "T01002,A,2019-09-10,50,", "T01003,A,2019-09-10,50,")
    records_review(actor=lead, observations=Observation.objects.filter(tree=trees[1]), state=ReviewState.ACCEPTED)
    content = export_bytes(CensusSheet, Observation.objects.current().order_by("tree__tag"), "csv").decode("utf-8-sig")
    lines = list(csv.DictReader(io.StringIO(content)))
    assert [(line["Accepted (yes/no)"], line["Position"]) for line in lines] == [("yes", "1"), ("yes", "2"), ("", "3")]
    assert load_again(lead, content).counts["unchanged"] == 3


def test_survival_says_how_many_of_its_records_are_unread(here, client):
    census_round, trees, lead = here
    load(here, "T01001,A,2019-09-10,50,yes", "T01002,A,2019-09-10,50,", "T01003,A,2019-09-10,50,")
    table = survival_rows(lead, ("site",))
    assert (table.unread, table.unread_count) == (2, True)
    client.force_login(lead)
    for address in ("/results/survival/", "/results/"):
        assert (
            "2 records of the censuses behind these figures are not reviewed yet, and counted all the same."
            in client.get(address).content.decode()
        )


def test_survival_names_a_round_that_waits_for_its_review(here, client):
    census_round, trees, lead = here
    load(here, "T01001,A,2019-09-10,50,", "T01002,A,2019-09-10,50,")
    programme_setting_save(actor=lead, key="unread_count", value="no", owner="The lead", set_on=datetime.date(2026, 1, 15))
    table = survival_rows(lead, ("site",))
    planting = census_round.planting
    assert table.waiting == ((planting.code, planting.site.code, census_round.label, 2),) and table.not_complete == ()
    assert [left.reason for left in table.left_out] == ["its records wait for a review"]
    client.force_login(lead)
    page = client.get("/results/survival/").content.decode()
    assert "1 census without a record that counts" in page and "2 records to review" in page
    with pytest.raises(CommandError, match=f"No record counts before its review: {planting.code} {census_round.label} .2 records"):
        call_command("survival")
    records_review(actor=lead, observations=Observation.objects.all(), state=ReviewState.ACCEPTED)
    assert survival_rows(lead, ("site",)).waiting == ()


def test_survival_names_results_given_out_before_later_records(here, client):
    census_round, trees, lead = here
    load(here, "T01001,A,2019-09-10,50,yes", "T01002,A,2019-09-10,50,", "T01003,A,2019-09-10,50,")
    given = {"title": "Result", "filename": "result.pdf", "content": b"%PDF", "lots": []}
    round_result_give_out(actor=lead, census_round=census_round, newest=newest_of(census_round), **given)
    assert survival_rows(lead, ("site",)).overtaken == ()
    records_review(actor=lead, observations=Observation.objects.filter(tree=trees[1]), state=ReviewState.ACCEPTED)
    assert [result.round for result in survival_rows(lead, ("site",)).overtaken] == [census_round]
    client.force_login(lead)
    page = client.get("/results/survival/").content.decode()
    assert "came in after these results were given out" in page and f"{census_round.planting.code} {census_round.label}, printed on" in page


def test_a_download_of_survival_says_how_many_records_are_unread(here, client):
    census_round, trees, lead = here
    load(here, "T01001,A,2019-09-10,50,yes", "T01002,A,2019-09-10,50,", "T01003,A,2019-09-10,50,")
    client.force_login(lead)
    for view in ("bars", "curve"):
        answer = client.get("/results/survival/", {"download": "csv", "view": view})
        [line] = csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig")))
        assert (line["unread_records"], line["unread_counted"], line["as_of"]) == ("2", "yes", timezone.localdate().isoformat())
