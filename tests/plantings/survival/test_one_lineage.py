"""The page of one lineage: what it shows, of which rows, and where it is linked from."""

from urllib.parse import urlencode

import pytest
from django.urls import reverse

from tests import factories
from tests.people import everyone
from tests.plantings.survival.survival_examples import count_again, counted, planting_on

pytestmark = pytest.mark.django_db


def address(level, label):
    return f"{reverse('survival_lineage')}?{urlencode({'level': level, 'lineage': label})}"


@pytest.fixture
def lineage(client):
    """Two mothers of one source on two sites, 60 and 20 planted of each; a native check beside them on the first."""
    people = everyone()
    client.force_login(people["lead"])
    mothers = [factories.pedigree_tree(code=code, source_of_resistance="Heron") for code in ("M-1", "M-2")]
    lots = [factories.seed_lot(mother=mother, seeds=100, code=f"S-{mother.code}") for mother in mothers]
    mine = factories.site(code="MINE", partner=people["landowner"].partner)
    other = factories.site(code="OTHER")
    here = planting_on(mine)
    plot = counted(here, lots[0], 60, 45)
    count_again(plot, 2, 30)
    counted(planting_on(other), lots[1], 20, 10)
    counted(here, factories.seed_lot(code="NATIVE", seeds=100, generation_other="native"), 40, 10, role="check")
    return people


def parts(response):
    return {part["title"]: part for part in response.context["parts"] if "rows" in part}


def cells(part):
    return [[str(cell[0]) for cell in row.cells] for row in part["rows"]]


def test_it_shows_all_sites_and_ages_beside_the_checks(client, lineage):
    response = client.get(address("source", "Heron"))
    rows = cells(parts(response)["Survival by site and age, beside the checks there"])
    assert [row[0].split()[0] for row in rows] == ["all", "all", "MINE", "MINE", "OTHER"]
    mine, check = rows[2], rows[3]
    assert mine[1].startswith("0.75 ") and mine[2].startswith("0.50 ")  # 45 and 30 of 60
    assert "native check" in check[0] and check[1].startswith("0.25 ")


def test_its_diversity_is_that_of_its_mothers_by_what_was_planted(client, lineage):
    response = client.get(address("source", "Heron"))
    assert [row[:1] + row[3:] for row in cells(parts(response)["Mother trees"])] == [["M-1", "60"], ["M-2", "20"]]
    facts = {str(label): value for label, value, _url in response.context["facts"]}
    # p = 0.75 and 0.25: 1 / Σ p² = 1.6; unrelated and not inbred, Θ = Σ p² / 2, so the status number is the same (Lindgren et al. 1996)
    assert (facts["Effective number of mothers"], facts["Status number of the mothers"]) == ("1.60", "1.60")
    assert "Lindgren" in response.content.decode()


def test_a_landowner_sees_their_own_rows_and_no_lots(client, lineage):
    client.force_login(lineage["landowner"])
    response = client.get(address("source", "Heron"))
    assert {row[0].split()[0] for row in cells(parts(response)["Survival by site and age, beside the checks there"])} == {"MINE"}
    assert "M-1" not in response.content.decode() and "Lots" not in parts(response)
    client.force_login(lineage["other landowner"])
    assert client.get(address("source", "Heron")).status_code == 404


@pytest.mark.parametrize(
    ("level", "label"), [("source", "Nobody"), ("nonsense", "Heron"), ("source", ""), ("", "Heron"), ("mother", "Heron")]
)
def test_a_lineage_that_does_not_exist_is_not_found(client, lineage, level, label):
    assert client.get(address(level, label)).status_code == 404


@pytest.mark.parametrize("given", [{"level": "source"}, {"lineage": "Heron"}])
def test_half_an_address_is_not_found_and_no_error(client, lineage, given):
    assert client.get(reverse("survival_lineage"), given).status_code == 404


def test_lots_trees_and_tables_lead_to_it(client, lineage):
    table = client.get(reverse("survival"), {"by": "lineage", "level": "source"}).content.decode()
    assert address("source", "Heron").replace("&", "&amp;") in table
    assert address("mother", "M-1").replace("&", "&amp;") in client.get(reverse("find"), {"q": "M-1"}, follow=True).content.decode()
    assert address("lot", "S-M-1").replace("&", "&amp;") in client.get(reverse("find"), {"q": "S-M-1"}, follow=True).content.decode()
