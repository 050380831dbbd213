"""What pages and the search say of a withdrawn load, and the page that asks before it is withdrawn."""

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from plantings.models import CensusRound, Planting, Tree
from registry.views.shared.addresses import record_url
from tests import factories
from tests.plantings.loads.test_withdrawn_census import load, withdraw
from tests.project.test_downloads import NAMES as LISTS

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead(client):
    person = factories.person("lead")
    client.force_login(person)
    return person


@pytest.fixture
def beside_others(lead):
    """A withdrawn load that had brought a tree into a round on file, and a round to a tree on file."""
    load(lead, [("H11a", "2020", "alive")])
    found = load(lead, [("H11b", "2020", "dead"), ("H11a", "2021", "dead")])
    withdraw(lead, found)
    return found


def test_no_page_stumbles_over_what_was_withdrawn(client, beside_others):
    planting, round_, tree = Planting.objects.get(), CensusRound.objects.get(), Tree.objects.get()
    pages = [reverse(name) for name in (*LISTS, "today", "survival", "audit_list")]
    pages += [record_url(record) for record in (planting, round_, tree)]
    rounds = ("records", "review", "result", "photos")
    pages += [reverse(f"round_{name}", args=[round_.pk]) for name in rounds] + [reverse("census_grid", args=[round_.pk])]
    assert {page: client.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)


def test_the_load_says_what_was_never_planted_and_the_search_finds_it(client, beside_others):
    page = reverse("load_detail", args=[beside_others.pk])
    said = client.get(page).content.decode()
    assert "Withdrawn, with rejected census records" in said and "H/H11b" in said and "H 2021" in said
    assert client.get(reverse("find"), {"q": "H/H11b"}).url == page
    with pytest.raises(CommandError, match=f"no trace of tree H/H11b: never planted: load {beside_others.pk} was withdrawn"):
        call_command("trace", "H/H11b")
    page = client.get(reverse("trace"), {"q": "H11b"}).content.decode()
    assert f"never planted: load {beside_others.pk} was withdrawn" in page and reverse("load_detail", args=[beside_others.pk]) in page
    client.force_login(factories.person("volunteer"))
    assert client.get(reverse("find"), {"q": "H/H11b"}).status_code == 200


def test_the_page_asks_and_its_other_button_leaves_the_load(client, lead):
    found = load(lead, [("H11a", "2020", "alive")])
    said = client.get(reverse("load_withdraw", args=[found.pk])).content.decode()
    assert "Withdraw the load</button>" in said and "Leave it as it is</a>" in said and "Do not save" not in said
