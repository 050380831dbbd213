"""The keying grid as a plain form: a page of a field form, stored all or none, once."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from plantings.models import Observation
from plantings.services.trees import TreeAsPlanted, trees_plant
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(client):
    """(round, its trees); a volunteer of the crew is signed in."""
    volunteer = factories.person("volunteer")
    planting = factories.planting(crew=[volunteer])
    trees = factories.trees(planting, count=4)
    client.force_login(volunteer)
    return factories.census_round(planting, 2), trees


def grid_url(census_round, query=""):
    return reverse("census_grid", args=[census_round.pk]) + query


def filled(client, census_round, rows, **head):
    """What a browser would send: every box of the page, with `rows` {tree: {column: text}} typed in."""
    page = client.get(grid_url(census_round)).context
    data = {"observed_on": str(census_round.opens_on), "observer": "Reed, Okafor"} | head
    for line in page["grid"].lines:
        if line.form is not None:
            data |= {bound.html_name: bound.value() or "" for bound in line.form}
    for tree, typed in rows.items():
        data |= {f"t{tree.pk}-{name}": text for name, text in typed.items()}
    return data


def texts(response):
    return [str(message) for message in response.context["messages"]]


def test_the_grid_lists_trees_in_walk_order_each_with_its_own_uuid(client, sheet):
    census_round, trees = sheet
    grid = client.get(grid_url(census_round)).context["grid"]
    assert [line.tree.tag for line in grid.lines] == [tree.tag for tree in trees]
    assert len({str(line.form["uuid"].value()) for line in grid.lines}) == 4


def test_a_page_is_stored_at_once_and_blank_rows_are_skipped(client, sheet):
    census_round, trees = sheet
    rows = {
        trees[0]: {
            "status": "a",
            "height_cm": "142.5",
            "diameter_mm": "12",
            "canker_class": "1",
            "browse_class": "l",
            "dieback_percent": "20",
            "flowering": "fem",
            "note": "leaning",
        },
        trees[1]: {"status": "D", "cause": "dr"},
        trees[3]: {"status": "rm", "cause": "Landowner"},
    }
    response = client.post(grid_url(census_round), filled(client, census_round, rows))
    assert response.url == f"{grid_url(census_round)}?page=1&on={census_round.opens_on}&by=Reed%2C+Okafor"
    stored = {record.tree_id: record for record in Observation.objects.all()}
    assert {pk: (record.status, record.cause) for pk, record in stored.items()} == {
        trees[0].pk: ("A", ""), trees[1].pk: ("D", "drought"), trees[3].pk: ("RM", "landowner"),
    }  # fmt: skip
    first = stored[trees[0].pk]
    measured = (first.height_cm, first.diameter_mm, first.canker_class, first.browse_class, first.dieback_percent, first.flowering)
    assert (measured, first.note) == ((142.5, 12, 1, "light", 20, "female"), "leaning")
    assert {(record.observed_on, record.observer) for record in stored.values()} == {(census_round.opens_on, "Reed, Okafor")}
    assert texts(client.get(response.url)) == ["Records of 3 trees saved."]


def test_stored_rows_are_read_only_and_day_and_observer_stay(client, sheet):
    census_round, trees = sheet
    response = client.post(grid_url(census_round), filled(client, census_round, {trees[0]: {"status": "A", "height_cm": "142"}}))
    page = client.get(response.url)
    assert [row["fields"] is None for row in page.context["rows"]] == [True, False, False, False]
    assert page.context["rows"][0]["records"][0][0][:3] == ["A", "", "142"]
    head = page.context["grid"].head
    assert (head["observed_on"].value(), head["observer"].value()) == (str(census_round.opens_on), "Reed, Okafor")


def test_posting_the_same_page_twice_stores_once(client, sheet):
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "A", "height_cm": "142"}, trees[1]: {"status": "D"}})
    client.post(grid_url(census_round), data, follow=True)
    again = client.post(grid_url(census_round), data, follow=True)
    assert texts(again) == ["Records of 0 trees saved. 2 trees were saved before."]
    assert Observation.objects.count() == 2


def test_sending_a_stored_row_with_another_value_is_refused(client, sheet):
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "A", "height_cm": "142"}})
    client.post(grid_url(census_round), data)
    response = client.post(grid_url(census_round), data | {f"t{trees[0].pk}-height_cm": "124"})
    [(box, tag, field, message)] = response.context["grid"].errors
    assert (tag, field) == (trees[0].tag, "Status") and "This was stored before, as Alive (A), 142 cm." in message
    assert 'value="124"' in response.content.decode()
    assert Observation.objects.get().height_cm == 142


def test_an_error_brings_the_whole_page_back_and_stores_nothing(client, sheet):
    census_round, trees = sheet
    rows = {
        trees[0]: {"status": "A", "height_cm": "14x", "note": "leaning"},
        trees[1]: {"status": "Q"},
        trees[2]: {"height_cm": "80"},
        trees[3]: {"status": "D", "cause": "r"},
    }
    data = filled(client, census_round, rows)
    response = client.post(grid_url(census_round), data)
    assert [(tag, field) for _box, tag, field, _message in response.context["grid"].errors] == [
        (trees[0].tag, "Height"), (trees[1].tag, "Status"), (trees[2].tag, "Status"), (trees[3].tag, "Cause"),
    ]  # fmt: skip
    says = [message for *_where, message in response.context["grid"].errors]
    assert says[0] == "“14x” is not a number. Write cm with digits and a point, such as 142."
    assert says[1].startswith("“Q” is not a status. Use one of A, AR, D")
    assert says[2].startswith("The status is missing.")
    assert says[3] == "“r” fits several codes. Write one of root_rot, rodent."
    page = response.content.decode()
    for name, value in data.items():
        assert f'name="{name}"' in page and (not value or f'value="{value}"' in page), name
    assert not Observation.objects.exists()


def test_the_same_page_corrected_is_stored_once_with_its_marks(client, sheet):
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "A", "height_cm": "14x"}, trees[1]: {"status": "A"}})
    marks = {data[f"t{tree.pk}-uuid"] for tree in trees[:2]}
    client.post(grid_url(census_round), data)
    client.post(grid_url(census_round), data | {f"t{trees[0].pk}-height_cm": "142"})
    assert {str(uuid) for uuid in Observation.objects.values_list("uuid", flat=True)} == marks


def test_a_page_without_its_day_is_refused_and_keeps_the_rows(client, sheet):
    census_round, trees = sheet
    response = client.post(grid_url(census_round), filled(client, census_round, {trees[0]: {"status": "A"}}, observed_on=""))
    assert [(tag, field) for _box, tag, field, _message in response.context["grid"].errors] == [("", "Seen on")]
    assert 'value="A"' in response.content.decode()
    assert not Observation.objects.exists()


def test_a_day_before_planting_names_every_row(client, sheet):
    census_round, trees = sheet
    rows = {tree: {"status": "A"} for tree in trees[:2]}
    response = client.post(grid_url(census_round), filled(client, census_round, rows, observed_on="2018-01-01"))
    errors = response.context["grid"].errors
    assert [tag for _box, tag, _field, _message in errors] == [tree.tag for tree in trees[:2]]
    assert all("before planting" in message for *_where, message in errors)


def test_two_records_of_one_tree_are_marked_as_disagreeing(client, sheet):
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "NF"}})
    factories.observe(census_round, {trees[0]: "A"})
    page = client.post(grid_url(census_round), data, follow=True)
    assert Observation.objects.count() == 2
    assert page.context["rows"][0]["looks"] == ["Two records disagree. Settle them by a correction."]


def test_what_looks_odd_is_stored_and_shown_with_its_row(client, sheet):
    census_round, trees = sheet
    factories.observe(factories.census_round(census_round.planting, 1), {trees[0]: "A", trees[1]: "A"}, height_cm=100.0)
    rows = {trees[0]: {"status": "A", "height_cm": "60"}, trees[1]: {"status": "A", "height_cm": "110"}}
    typed = filled(client, census_round, rows)
    asked = client.post(grid_url(census_round), typed)
    assert asked.context["grid"].errors and not Observation.objects.filter(round=census_round).exists()
    page = client.post(grid_url(census_round), typed | {"asked": asked.context["asked"]}, follow=True)
    assert texts(page) == [
        "Records of 2 trees saved.",
        "1 tree needs a second look: see the row marked below. It is saved as written.",
    ]
    assert [len(row["looks"]) for row in page.context["rows"]] == [1, 0, 0, 0]
    assert page.context["rows"][0]["looks"][0].startswith("Height is 60 cm, last time 100 cm")


def test_last_years_value_is_on_no_page_before_the_new_one(client, sheet):
    census_round, trees = sheet
    factories.observe(factories.census_round(census_round.planting, 1), {trees[0]: "A"}, height_cm=187.5)
    # with its decimal point: three digits alone are in one of the random row ids now and then
    assert "187.5" not in client.get(grid_url(census_round)).content.decode()


def test_an_empty_page_stores_nothing_and_says_so(client, sheet):
    census_round, _trees = sheet
    page = client.post(grid_url(census_round), filled(client, census_round, {}), follow=True)
    assert texts(page) == ["Nothing was entered, so nothing was saved."]


def test_a_broken_uuid_is_reported_and_a_foreign_tree_is_ignored(client, sheet):
    census_round, trees = sheet
    [stranger] = factories.trees(factories.planting(), count=1)
    data = filled(client, census_round, {trees[0]: {"status": "A", "uuid": "x"}})
    data |= {f"t{stranger.pk}-uuid": str(uuid4()), f"t{stranger.pk}-status": "A"}
    response = client.post(grid_url(census_round), data)
    assert [tag for _box, tag, _field, _message in response.context["grid"].errors] == [trees[0].tag]
    client.post(grid_url(census_round), data | {f"t{trees[0].pk}-uuid": str(uuid4())})
    assert set(Observation.objects.values_list("tree", flat=True)) == {trees[0].pk}


def plant(planting, count):
    lot = factories.stock_lot()
    trees_plant(
        actor=factories.person(), planting=planting,
        trees=[TreeAsPlanted(f"T{n:04d}", lot, "test", "1", n // 25 + 1, n % 25 + 1) for n in range(count)],
    )  # fmt: skip


@pytest.mark.parametrize(("count", "pages"), [(30, 1), (500, 5)])
def test_a_page_holds_100_trees_at_a_fixed_number_of_queries(client, count, pages):
    planting = factories.planting()
    plant(planting, count)
    census_round = factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(planting.trees.all()[:20], "A"))
    client.force_login(factories.person("coordinator"))
    with CaptureQueriesContext(connection) as captured:
        page = client.get(grid_url(census_round))
    assert page.context["page_obj"].paginator.num_pages == pages
    assert len(page.context["rows"]) == min(count, 100)
    assert len(captured) == 10, [query["sql"] for query in captured]


def test_a_typed_row_whose_tree_left_the_page_comes_back(client, sheet):
    """The list of trees may have changed since the page was opened: what was typed is never dropped."""
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "A"}})
    trees[0].planted_on = factories.day(2025)  # moved off this round's sheet in between
    trees[0].save()
    response = client.post(grid_url(census_round), data)
    assert [tag for _box, tag, _field, _message in response.context["grid"].errors] == [trees[0].tag]


def test_other_roles_get_403_and_other_crews_404(client, sheet):
    census_round, trees = sheet
    data = filled(client, census_round, {trees[0]: {"status": "A"}})
    for role, status in (("volunteer", 404), ("landowner", 403), ("auditor", 403)):
        client.force_login(factories.person(role))
        assert client.get(grid_url(census_round)).status_code == status, role
        assert client.post(grid_url(census_round), data).status_code == status, role
    assert not Observation.objects.exists()
