"""Whether a model describes what it was fitted to: on the pages, in the answers to programs and in the issued report."""

import jsonschema
import pytest
from django.urls import reverse

from plantings.models import IssuedReport
from plantings.selectors.survival import models
from registry.models import StoredAnswer
from tests import factories
from tests.jobs import work_off
from tests.plantings.survival.model_examples import page, programme
from tests.plantings.survival.survival_examples import planting_on

pytestmark = pytest.mark.django_db


def described(client, name):
    """The answer to a program, checked against its own description."""
    description = client.get(reverse("api_openapi")).json()
    answer = description["paths"][f"/{name}"]["get"]["responses"]["200"]["content"]["application/json"]
    return answer["schema"] | {"components": description["components"]}


def test_page_and_answer_say_whether_the_model_describes_counts(client, lead):
    programme()
    text = page(client).content.decode()
    assert (
        "There are too few counts to tell whether the model describes them. Of 18 counts of a lineage or check on a planting, " in text
    )  # five lots, a check, three sites
    assert " alive where " in text and text.count("Whether the model describes the counts") == 1
    found = page(client, "api_lineages").json()
    jsonschema.Draft202012Validator(described(client, "lineages")).validate(found)
    check = found["fit_check"]
    assert (check["fits"], check["can_tell"], check["cells"], check["skewness"]) == (True, False, 18, None)
    assert f"{check['furthest']['observed']:.0f} of {check['furthest']['trees']} alive where" in text
    assert f"{check['furthest']['site']} ({check['furthest']['planting']})" in text


def test_the_issued_report_says_it_with_the_methods(client, lead):
    programme()
    draft = client.get(reverse("issuedreport_draft"), {"year": 2026, "level": "lot"})
    client.post(draft.context["issue_url"], {"page": "letter", "reason": ""})
    work_off()
    text = client.get(reverse("issuedreport_detail", args=[IssuedReport.objects.get().pk])).content.decode()
    assert "There are too few counts to tell whether the model describes them. Of 18 counts of a lineage or check on a planting, " in text


@pytest.mark.usefixtures("fits")
def test_a_model_stored_before_it_was_checked_is_still_read(client, lead):
    programme()
    page(client)
    work_off()
    assert "whether the model describes them. Of 18" in page(client).content.decode()
    stored = StoredAnswer.objects.get()
    del stored.values["answer"]["check"]
    StoredAnswer.objects.update(values=stored.values)
    response = page(client)
    assert response.status_code == 200 and "describes them. Of" not in response.content.decode()
    assert len(response.context["found"].ranked) == 5 and page(client, "api_lineages").json()["fit_check"] is None


@pytest.mark.parametrize("large", [False, True])
def test_growth_says_whether_its_model_describes_the_means(client, lead, monkeypatch, large):
    monkeypatch.setattr(models, "CELLS_AT_ONCE", 0 if large else 5_000)
    lots = [factories.stock_lot(actor=lead, plants=90) for _ in range(3)]
    for number in range(4):
        planting = planting_on(factories.site())
        rows = [factories.trees(planting, lot, 3, actor=lead, row=row) for row, lot in enumerate(lots, 1)]
        census_round = factories.census_round(planting, 2)
        for place, trees in enumerate(rows):
            for tree, height in zip(trees, (120, 131, 126 + place * number % 5), strict=True):
                factories.observe(census_round, {tree: "A"}, actor=lead, height_cm=height + 10 * number + 7 * place)
    page(client, "survival_growth")
    work_off()
    text = page(client, "survival_growth").content.decode()
    assert (
        "After 2 growing seasons there are too few means to tell whether the model describes them. Of 12 means of a lineage or check on a site, "
        in text
    )
    assert " cm (3 trees) where " in text and text.count("Whether the model describes the means") == 1
    found = page(client, "api_growth").json()
    jsonschema.Draft202012Validator(described(client, "growth")).validate(found)
    (check,) = found["fit_checks"]
    assert (check["growing_seasons"], check["check"]["cells"], check["check"]["fits"]) == (2, 12, True)
    assert check["check"]["furthest"]["planting"] is None and check["check"]["skewness"] is not None
