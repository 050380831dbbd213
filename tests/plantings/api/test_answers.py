"""The answers of the read-only interface: as described, the figures of the pages, and refused in words where a parameter is wrong."""

import csv
import io
import json

import jsonschema
import pandas
import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from plantings.views.api import results
from plantings.views.api.description import API_VIEWS
from tests.places import PROJECT
from tests.plantings.survival.survival_examples import small_programme

pytestmark = pytest.mark.django_db
SCHEMA = PROJECT / "tests" / "vendor" / "openapi-3.1" / "schema.json"


@pytest.fixture(scope="module")
def programme(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        yield small_programme("Old <b>hill</b>")
        transaction.set_rollback(True)


@pytest.fixture
def lead(programme):
    client = Client()
    client.force_login(programme["lead"])
    return client


def answer(client, name, **query):
    response = client.get(reverse(f"api_{name}"), query)
    assert response.status_code == 200, response.content
    return response.json()


def test_the_description_is_valid_openapi_and_every_answer_fits_it(lead):
    document = answer(lead, "openapi")
    jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text(encoding="utf-8"))).validate(document)
    assert document["servers"] == [{"url": "http://testserver/api/1"}]
    assert len(document["paths"]) == len(API_VIEWS) + 1  # and how far a model is: see test_models_as_jobs.py
    [site] = [one for one in document["paths"]["/survival"]["get"]["parameters"] if one["name"] == "site"]
    assert site["schema"] == {"type": "string"}  # sites are not listed: there may be thousands
    for name, view in API_VIEWS.items():
        operation = document["paths"][view.path]["get"]
        schema = operation["responses"]["200"]["content"]["application/json"]["schema"] | {"components": document["components"]}
        found = answer(lead, operation["operationId"].removeprefix("api_"))
        jsonschema.Draft202012Validator(schema).validate(found)
        assert found["rows"], name
        assert all(parameter["description"] for parameter in operation["parameters"])


def test_pandas_makes_the_main_table_from_the_data_alone(lead):
    rows = pandas.DataFrame(answer(lead, "data")["rows"])
    rows = rows[(rows["counted"] == "yes") & (rows["complete"] == "yes") & (rows["growing_seasons"] == 2)]
    rows = rows.assign(check_kind=rows["check_kind"].where(rows["role"] == "check", ""))
    groups = rows.groupby(["site", "lot", "role", "population"])[["planted", "assessed", "alive"]].sum()
    ours = {key: (*map(int, row), round(row["alive"] / row["assessed"], 4)) for key, row in groups.iterrows()}
    choices = {"by": "site-lineage", "level": "lot", "at": "age-2"}
    page = csv.DictReader(io.StringIO(lead.get(reverse("survival"), choices | {"download": "csv"}).content.decode("utf-8-sig")))
    theirs = {}
    for row in page:
        role = "test" if row["role"] == "test" else "check"
        counts = tuple(int(row[name]) for name in ("planted", "assessed", "alive"))
        theirs[row["site"], row["lineage"], role, row["population"]] = (*counts, float(row["survival"]))
    assert ours == theirs and len(ours) == 5
    told = {
        (row["site"], row["lineage"], row["role"], row["population"]): (row["planted"], row["assessed"], row["alive"], round(row["survival"], 4))
        for row in answer(lead, "survival", **choices)["rows"]
    }  # fmt: skip
    assert told == theirs


def test_pages_of_rows_add_up_to_all_rows(lead):
    every = answer(lead, "data")["rows"]
    found, query = [], {"size": "7"}
    while query:
        part = answer(lead, "data", **query)
        assert 0 < len(part["rows"]) <= 7
        found += part["rows"]
        query = dict(pair.split("=") for pair in part["next"].partition("?")[2].replace("%3A", ":").split("&")) if part["next"] else None
    assert found == every and len(every) == 43
    first, second = (answer(lead, "survival", size=3, page=number) for number in (1, 2))
    assert (first["count"], first["pages"], len(first["rows"]), len(second["rows"]), second["next"]) == (5, 2, 3, 2, None)
    assert first["rows"] + second["rows"] == answer(lead, "survival")["rows"]


@pytest.mark.parametrize(
    ("query", "parameter", "words"),
    [
        ({"sites": "MINE"}, "sites", "This address does not know this parameter. Use level, site, "),
        ({"site": "NOWHERE"}, "site", "There is no site “NOWHERE” to choose here."),
        ({"level": ["lot", "mother"]}, "level", "It is given more than once."),
        ({"level": "colour"}, "level", "Write one of lot, mother, family, source, line, generation."),
        ({"at": "age-x"}, "at", "is not a census. Write age-3"),
        ({"open": "0"}, "open", "Write true or false."),
        ({"page": "0"}, "page", "Write a whole number from 1 to 1000000."),
        ({"size": "٣"}, "size", f"Write a whole number from 1 to {results.ROWS_MOST}."),
    ],
)
def test_a_parameter_that_cannot_be_read_is_named(lead, query, parameter, words):
    response = lead.get(reverse("api_survival"), query)
    problem = response.json()
    assert (response.status_code, response.headers["Content-Type"]) == (400, "application/problem+json")
    assert (problem["type"], problem["title"], problem["status"]) == ("about:blank", "Bad Request", 400)
    [error] = problem["errors"]
    assert error["parameter"] == parameter and words in error["detail"]


def test_what_is_not_there_or_not_text_is_a_problem_in_json_too(lead):
    for path, status in (("/api/1/nothing", 404), ("/api/1/data?from=MINE:x", 400), ("/api/1/survival?site=%00", 400)):
        response = lead.get(path)
        assert (response.status_code, response.headers["Content-Type"]) == (status, "application/problem+json"), path
        assert response.json()["detail"]


def test_an_answer_is_stored_by_nobody_and_typed_text_stays_text(lead):
    response = lead.get(reverse("api_sites"))
    assert response.headers["Cache-Control"] == "private, no-store"
    assert {"Authorization", "Cookie"} <= {name.strip() for name in response.headers["Vary"].split(",")}
    assert (response.headers["Content-Type"], response.headers["X-Content-Type-Options"]) == ("application/json", "nosniff")
    assert "Old <b>hill</b>" in {row["name"] for row in response.json()["rows"]}
