"""An old workbook that has years and months and no days: loaded by one mapping, and shown as it says."""

import pytest
from django.urls import reverse

from plantings.imports.combined.loading import combined_load
from plantings.imports.kinds import KINDS
from plantings.models import Observation, Planting, SurvivalTally, Tree
from registry.calc.shared.part_dates import PartDate
from registry.imports.sheets.formats import export_bytes
from registry.models import AuditEntry, Lot
from tests import factories

pytestmark = pytest.mark.django_db
OF_PLANTING = {"planting": {"constant": "OLD-1"}}
VISIT = {"visit": "year"}
MAPPING = {
    "dates": ["D.M.YYYY", "Mon YYYY", "YYYY", "YYYY-MM-DD"],
    "visits": {"state": "State {year}", "seen": "Seen {year}"},
    "parts": {
        "lot": {
            "columns": {
                "code": "Lot", "year": "Picked", "lot_kind": {"constant": "stock"}, "taxon": {"constant": "Juglans cinerea"},
                "origin": {"constant": "outside"}, "outside_origin": {"constant": "as in the workbook"},
            }
        },
        "planting": {
            "columns": {
                "code": {"constant": "OLD-1"}, "site": {"constant": "OLD"}, "planted_on": "Planted", "state": {"constant": "established"},
                "supply": {"constant": "before_records"},
            }
        },
        "tree": {"columns": OF_PLANTING | {"tag": "Tree", "lot": "Lot", "planted_on": "Replanted"}},
        "round": {
            "columns": OF_PLANTING | {
                "label": VISIT, "growing_seasons": VISIT | {"values": {"2020": "2", "2021": "3"}},
                "opens_on": VISIT | {"values": {"2020": "2020-09-01", "2021": "2021-09-01"}},
                "closes_on": VISIT | {"values": {"2020": "2020-10-31", "2021": "2021-10-31"}},
            }
        },
        "census": {
            "columns": OF_PLANTING | {
                "round": VISIT, "tag": "Tree", "status": {"visit": "state", "values": {"alive": "A", "dead": "D"}},
                "observed_on": {"visit": "seen"},
            }
        },
    },
}  # fmt: skip
SHEET = b"""Tree,Lot,Picked,Planted,Replanted,State 2020,Seen 2020,State 2021,Seen 2021
1,B-12,2017,2019,,alive,2020,alive,Oct 2021
2,B-12,2017,2019,,dead,2020,dead,3.10.2021
3,B-17,2018,2019,May 2020,alive,Sept. 2020,dead,2021
"""


@pytest.fixture
def lead():
    factories.taxon(name="Juglans cinerea")
    factories.site(code="OLD", name="Old site")
    return factories.person("lead")


def test_a_workbook_of_years_is_loaded_and_shown_as_it_says(lead, client):
    given = {"actor": lead, "content": SHEET, "filename": "old.csv", "spec": MAPPING}
    combined_load(**given)
    assert Lot.objects.get(code="B-12").year == 2017
    assert Planting.objects.get().planted_on == PartDate(2019) and Tree.objects.get(tag="3").planted_on == PartDate(2020, 5)
    days = Observation.objects.order_by("tree__tag", "observed_on").values_list("observed_on", flat=True)
    assert [str(day) for day in days] == ["2020", "2021-10", "2020", "2021-10-03", "2020-09", "2021"]
    # survival goes by the round and its growing seasons, not by days
    rows = SurvivalTally.objects.order_by("round__opens_on", "entry__lot__code").values_list("round__growing_seasons", "alive", "dead")
    assert list(rows) == [(2, 1, 1), (2, 1, 0), (3, 1, 1), (3, 0, 1)]

    client.force_login(lead)
    page = client.get(reverse("planting_detail", args=[Planting.objects.get().pk])).content.decode()
    assert "Planted on</dt><dd>2019</dd>" in page
    page = client.get(reverse("tree_detail", args=[Tree.objects.get(tag="3").pk])).content.decode()
    assert "May 2020" in page and '<time datetime="2020-09">Sep 2020</time>' in page and "1 Jan" not in page

    # its own sheets say the same, and either sheet again changes nothing
    before = AuditEntry.objects.count()
    for kind, said in (("planting", b",2019,"), ("tree", b",2020-05,"), ("census", b",2021-10,")):
        sheet = KINDS[kind]
        content = export_bytes(sheet, sheet.model.objects.all(), "csv", lead)
        assert said in content
        assert set(combined_load(**given | {"content": content, "spec": as_it_is(kind, content)}).counts[kind]) == {"unchanged"}
    combined_load(**given)
    assert AuditEntry.objects.count() == before


def as_it_is(kind, content):
    """A mapping that takes the columns of our own sheet as they are."""
    headers = content.decode("utf-8-sig").splitlines()[0].split(",")
    fields = {field.column_name: name for name, field in KINDS[kind].sheet_fields().items()}
    return {"parts": {kind: {"columns": {fields[header]: header for header in headers if header in fields}}}}


def test_a_date_that_contradicts_another_on_each_of_its_days_is_refused(lead):
    planting = factories.planting(planted_on=PartDate(2020, 5))
    [tree] = factories.trees(planting, count=1, actor=lead)
    census_round = factories.census_round(planting)
    assert factories.observe(census_round, {tree: "A"}, actor=lead, observed_on=PartDate(2020)) == 1  # it can be after May
    with pytest.raises(Exception, match="Seen on 2019, before planting on May 2020"):
        factories.observe(census_round, {tree: "A"}, actor=lead, observed_on=PartDate(2019))
    with pytest.raises(Exception, match="has not come yet"):
        factories.observe(census_round, {tree: "A"}, actor=lead, observed_on=PartDate(2999))


def test_the_box_takes_a_year_or_a_month_and_shows_it_again(lead, client):
    planting = factories.planting(planted_on=PartDate(2019))
    [tree] = factories.trees(planting, count=1, actor=lead)
    client.force_login(lead)
    address = reverse("planting_edit", args=[planting.pk])
    form = client.get(address).context["form"]
    assert 'value="2019"' in str(form["planted_on"])
    sent = {name: value for name in form.fields if (value := form[name].value()) not in (None, "", [])}
    assert "is not a date" in client.post(address, sent | {"planted_on": "spring 2019"}).content.decode()
    shown = {"shown": client.get(address).context["shown"]} if "shown" in client.get(address).context else {}
    assert client.post(address, sent | shown | {"planted_on": "mai 2019"}).status_code == 302
    planting.refresh_from_db()
    assert planting.planted_on == PartDate(2019, 5)
