"""Page codes of the field form, read back by other libraries, and the grid they open."""

import re

import pytest
from django.urls import reverse

from plantings.calc.census.page_codes import PageCode, read_page_code
from plantings.models import FormPage, Observation
from plantings.services.field_form.pages import form_pages_store
from plantings.services.trees import counted_plot_add
from tests import factories
from tests.prints.reading import codes, page_texts, pictures

pytestmark = pytest.mark.django_db


@pytest.fixture
def volunteer(client):
    person = factories.person("volunteer")
    client.force_login(person)
    return person


def round_of(crew, trees=60):
    planting = factories.planting(code="PL-1", site=factories.site(code="FALLS"), crew=[crew])
    planted = factories.trees(planting, count=trees)
    return factories.census_round(planting, 1), planted


def printed(client, census_round, **data):
    answer = client.post(reverse("field_form", args=[census_round.pk]), {"page": "letter", "trees": "all", "last": "on"} | data)
    assert answer.headers["Content-Type"] == "application/pdf"
    return answer.content


def codes_of(content):
    """The page code of each page, read from its text."""
    return [re.search(r"F\d+-\d+-\d+-[0-9A-Z]", text).group() for text in page_texts(content)]


def test_each_page_carries_its_code_in_letters_and_as_a_qr_code(client, volunteer, settings):
    settings.SITE_URL = "https://mastbook.example.org"
    census_round, trees = round_of(volunteer)
    content = printed(client, census_round)
    pages = list(FormPage.objects.all())
    assert codes_of(content) == [page.code for page in pages] and len(pages) == pages[0].count > 2
    found = [codes(picture)[-1] for picture in pictures(content, only=range(1, len(pages)))]
    assert found == [f"https://mastbook.example.org/find/?q={page.code}" for page in pages[1:]]
    assert [pk for page in pages for pk in page.trees] == [tree.pk for tree in trees]  # each tree on one page, in walk order
    for page, text in zip(pages, page_texts(content), strict=True):
        assert {tree.tag for tree in trees if tree.tag in text} == {tree.tag for tree in trees if tree.pk in page.trees}
    assert codes_of(printed(client, census_round)) == codes_of(content)  # printed again, the codes are the same
    assert codes_of(printed(client, census_round, page="a4"))[0] == f"{PageCode(census_round.pk, 2, 1)}"


def test_a_page_code_opens_the_grid_of_exactly_its_trees(client, volunteer):
    census_round, trees = round_of(volunteer)
    page = read_page_code(codes_of(printed(client, census_round))[2])
    stored = FormPage.objects.get(form=page.form, number=page.page)
    answer = client.get(reverse("find"), {"q": f" {str(page).lower()} "}, follow=True)
    shown = [row["tag"] for row in answer.context["rows"]]
    assert shown == [tree.tag for tree in trees if tree.pk in stored.trees]
    assert f"Key page 3 of {stored.count}" in answer.content.decode() and stored.code in answer.content.decode()
    head = {"observed_on": census_round.opens_on.isoformat(), "observer": "A. Reader"}
    tree = stored.trees[0]
    box = answer.context["rows"][0]["uuid"].value()
    answer = client.post(answer.request["PATH_INFO"], head | {f"t{tree}-uuid": box, f"t{tree}-status": "A"}, follow=True)
    assert Observation.objects.get().tree_id == tree and [row["tag"] for row in answer.context["rows"]] == shown
    client.force_login(factories.person("volunteer"))
    assert client.get(reverse("formpage_key", args=[stored.pk])).status_code == 404
    answer = client.get(reverse("find"), {"q": stored.code})
    assert "No record you may see carries this code" in answer.content.decode()


def test_a_page_without_trees_says_so_and_leads_to_the_first_that_has_any(client, volunteer):
    census_round, trees = round_of(volunteer, trees=2)
    empty, first = form_pages_store(actor=volunteer, census_round=census_round, pages=[[], [tree.pk for tree in trees]])
    shown = client.get(reverse("find"), {"q": empty.code}, follow=True).content.decode()
    assert f"Page 1 of this field form lists no tree. Its trees begin on page 2, {first.code}." in shown
    assert f'href="{reverse("formpage_key", args=[first.pk])}">Key page 2</a>' in shown
    [alone] = form_pages_store(actor=volunteer, census_round=census_round, pages=[[]])
    shown = client.get(reverse("formpage_key", args=[alone.pk])).content.decode()
    assert "nothing to key from it by tree" in shown and reverse("census_counts", args=[census_round.pk]) not in shown
    lot = factories.seed_lot()
    counted_plot_add(actor=factories.person(), planting=census_round.planting, code="D1", lot=lot, planted_count=40)
    shown = client.get(reverse("formpage_key", args=[alone.pk])).content.decode()
    assert f'href="{reverse("census_counts", args=[census_round.pk])}">Key the counts of the plots' in shown


def test_a_slip_in_a_page_code_is_named(client, volunteer):
    code = str(PageCode(12, 1, 3))
    slip = code.replace("12", "13", 1)
    assert "does not fit the others" in client.get(reverse("find"), {"q": slip}).content.decode()
    assert "does not fit" not in client.get(reverse("find"), {"q": "F12"}).content.decode()
