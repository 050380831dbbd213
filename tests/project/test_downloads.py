"""Every list downloads as CSV and XLSX, filtered as shown, and reads back."""

import pytest
from django.urls import get_resolver, reverse

from registry.imports.sheets.table import read_table
from registry.views.shared.lists import RecordListView
from tests import factories
from tests.project.test_sql_counts import one_more_of_everything

pytestmark = pytest.mark.django_db


def lists(patterns=None):
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        if hasattr(pattern, "url_patterns"):
            yield from lists(pattern.url_patterns)
        elif issubclass(getattr(pattern.callback, "view_class", object), RecordListView) and "<" not in str(pattern.pattern):
            yield pattern.name


NAMES = sorted(lists())


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_every_list_downloads_all_its_rows(client, wanted):
    lead = factories.person("lead")
    client.force_login(lead)
    for _ in range(2):
        one_more_of_everything(lead)
    assert len(NAMES) >= 16
    for name in NAMES:
        page = client.get(reverse(name))
        shown = page.context["count"]
        response = client.get(reverse(name), {"download": wanted})
        assert response["Content-Disposition"].endswith(f'.{wanted}"'), name
        if name == "boundary_list":
            continue  # none in this book
        table = read_table(response.content, f"{name}.{wanted}")
        assert len(table.rows) >= shown > 0, name


def test_a_download_is_filtered_as_the_page_is(client):
    lead = factories.person("lead")
    client.force_login(lead)
    for _ in range(2):
        one_more_of_everything(lead)
    page = client.get(reverse("lot_list"), {"kind": "seed"})
    table = read_table(client.get(reverse("lot_list"), {"kind": "seed", "download": "csv"}).content, "lots.csv")
    assert {row[1] for row in table.rows} == {"seed"}
    assert len(table.rows) == page.context["count"] < client.get(reverse("lot_list")).context["count"]


def test_an_unknown_format_is_not_found(client):
    client.force_login(factories.person("lead"))
    assert client.get(reverse("lot_list"), {"download": "pdf"}).status_code == 404


@pytest.mark.parametrize("role", ["manager", "auditor"])
def test_contacts_of_partners_leave_only_with_people_who_may_see_them(client, role):
    factories.partner(email="secret@example.org", phone="555-0199")
    client.force_login(factories.person(role))
    text = client.get(reverse("partner_list"), {"download": "csv"}).content.decode()
    assert ("secret@example.org" in text) == (role == "auditor")


@pytest.mark.parametrize(("role", "exact"), [("manager", False), ("auditor", True), ("coordinator", True)])
def test_exact_places_leave_only_with_people_who_may_see_them(client, role, exact):
    factories.site(longitude=-73.21543, latitude=44.48123)
    client.force_login(factories.person(role))
    text = client.get(reverse("site_list"), {"download": "csv"}).content.decode()
    assert ("-73.21543" in text) == exact
