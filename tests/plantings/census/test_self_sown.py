"""Self-sown seedlings: noted apart, in a sheet of their own, in no tally."""

import pytest
from django.urls import reverse

from plantings.imports.loading import sheet_load
from plantings.imports.self_sown import SelfSownSheet
from plantings.models import RoundProgress, SelfSown, SurvivalTally, Tree
from plantings.selectors.census.recount import recount_differences
from plantings.services.field_form.self_sown import self_sown_record
from registry.imports.sheets.formats import export_bytes
from tests import factories
from tests.prints.reading import page_texts

pytestmark = pytest.mark.django_db


@pytest.fixture
def here():
    """A round in which both trees of a planting are recorded alive; a volunteer of its crew."""
    volunteer = factories.person("volunteer")
    planting = factories.planting(code="PL-1", crew=[volunteer])
    census_round = factories.census_round(planting)
    factories.observe(census_round, dict.fromkeys(factories.trees(planting, count=2), "A"))
    return census_round, volunteer


def everything_counted():
    return [list(model.objects.order_by("pk").values()) for model in (SurvivalTally, RoundProgress)]


def test_self_sown_seedlings_are_in_no_tally(here, client):
    census_round, volunteer = here
    before = everything_counted()
    client.force_login(volunteer)
    box = {"place": "along the north fence", "seedlings": "12", "observed_on": str(census_round.opens_on), "observer": "R. Reed"}
    page = client.post(reverse("selfsown_add", args=[census_round.pk]), box, follow=True).content.decode()
    assert "along the north fence" in page and "They came up by themselves" in page
    assert everything_counted() == before and Tree.objects.count() == 2 and recount_differences()[1] == []
    record = SelfSown.objects.get()
    assert (record.seedlings, record.entered_by) == (12, volunteer)
    client.force_login(factories.person("coordinator"))
    url = reverse("selfsown_correct", args=[record.pk])
    client.post(url, box | {"seedlings": "", "reason": "nobody counted"})
    assert SelfSown.objects.current().get().seedlings is None and SelfSown.objects.count() == 2 and everything_counted() == before


def test_a_sheet_of_self_sown_seedlings_comes_back_as_it_went(here):
    census_round, _volunteer = here
    lead = factories.person()
    head = "Planting,Season,Where,Seedlings (count),Observed on\n"
    row = f"PL-1,{census_round.label},north fence,12,{census_round.opens_on}\n"
    sheet_load(actor=lead, kind="self_sown", content=(head + row).encode(), filename="self.csv")
    content = export_bytes(SelfSownSheet, SelfSown.objects.current(), "csv")
    assert sheet_load(actor=lead, kind="self_sown", content=content, filename="self.csv").counts["unchanged"] == 1
    sheet_load(actor=lead, kind="self_sown", content=(head + row.replace("12", "14")).encode(), filename="self.csv", reason="again")
    assert SelfSown.objects.current().get().seedlings == 14 and SelfSown.objects.count() == 2


def test_the_field_form_has_a_line_for_them_at_its_end(here, client):
    census_round, volunteer = here
    self_sown_record(actor=volunteer, census_round=census_round, place="gate", observed_on=census_round.opens_on)
    client.force_login(volunteer)
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all"})
    text = " ".join(" ".join(page_texts(answer.content)).split())
    assert "Self-sown seedlings: how many, and where" in text and text.index("In walk order") < text.index("Self-sown seedlings")
