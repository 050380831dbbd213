"""What somebody typed is shown as text: no page makes HTML of it, whichever column of whichever record it was typed into."""

import functools

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.test import Client
from django.urls import resolve, reverse

from plantings.imports.kinds import KINDS
from registry.services.land.links import link_make
from tests.project.access_table import PUBLIC, address, routes
from tests.typed_text import TYPED, Form, html_of, text_columns, type_everywhere, without_rows

# what a page says is the same on both databases; test_every_page asks both for each of them
pytestmark = [pytest.mark.django_db, pytest.mark.one_database]


@pytest.fixture(scope="module")
def typed_world(shared_world, django_db_blocker):
    people, records, special = shared_world
    with django_db_blocker.unblock():
        _link, token = link_make(actor=people["lead"], person=people["landowner"])
        refused = type_everywhere()
        for person in people.values():
            person.refresh_from_db()
    return people, {**records, "token": token}, special, refused


def pages(records, special, *, of):
    return {name: address(name, pattern, records, special) for name, pattern, _view in routes() if of(name)}


@pytest.fixture(scope="module")
def read(typed_world):
    """`read(who)`: {route: (its address, the status, the page)} of one person, fetched once for all tests; what it wrote is taken back."""
    people, records, special, _refused = typed_world

    @functools.cache
    def fetch(who):
        client = Client(raise_request_exception=False)
        with transaction.atomic():
            client.force_login(people[who])
            found = {}
            for name, page in pages(records, special, of=lambda name: name not in PUBLIC).items():
                response = client.get(page)
                found[name] = (page, response.status_code, html_of(response))
            transaction.set_rollback(True)
        return found

    return fetch


def test_nearly_every_column_of_text_is_tried(typed_world):
    _people, _records, _special, refused = typed_world
    assert len(list(text_columns())) > 150
    # the two who decide are two people: one text in both columns is refused
    assert refused == ["SelectionDecision.second_name"]


def test_each_record_type_with_text_has_a_row_it_is_typed_into(typed_world):
    assert without_rows() == []


def test_the_search_finds_what_a_page_does_not_escape():
    assert Form(f"<p>{TYPED}</p>").typed == ["line 1"]
    assert Form(f'<p title="{TYPED}">').typed == ["line 1"]
    assert Form("<p>&lt;typed&gt;</p><script>'<typed>'</script>").typed == []


@pytest.mark.parametrize("who", ["lead", "volunteer", "landowner"])  # the three that see pages of their own
def test_no_page_makes_html_of_a_stored_text(read, who):
    wrong = {name: (status, found) for name, (_page, status, html) in read(who).items() if (found := Form(html).typed) or status >= 500}
    assert wrong == {}


def test_no_page_behind_a_private_link_makes_html_of_a_stored_text(client, typed_world):
    _people, records, special, _refused = typed_world
    special = special | {"land_receipt": records["receipt"], "land_agreement": records["agreementtext"]}
    found = pages(records, special, of=lambda name: name.startswith("land_"))
    assert {name: Form(html_of(client.get(page))).typed for name, page in found.items()} == dict.fromkeys(found, [])


def test_no_form_makes_html_of_what_is_typed_into_it(client, typed_world, read):
    """Neither where it is shown again with its mistakes, nor in the page and message after it was saved."""
    people, *_rest = typed_world
    client.force_login(people["lead"])
    client.raise_request_exception = False
    wrong, forms = {}, 0
    for name, (page, _status, html) in read("lead").items():
        boxes = Form(html).filled(TYPED)
        if not boxes:
            continue
        forms += 1
        response = client.post(page, boxes, follow=True)
        found = Form(html_of(response)).typed
        if found or response.status_code >= 500:
            wrong[name] = (response.status_code, found)
    assert forms > 60
    assert wrong == {}


def test_no_preview_of_a_sheet_makes_html_of_its_cells(client, typed_world):
    people, *_rest = typed_world
    client.force_login(people["lead"])
    unquoted, wrong = TYPED.replace('"', ""), {}
    for kind, sheet in KINDS.items():
        headers, _example = sheet.template_rows()
        rows = [",".join([*headers, unquoted]), ",".join([unquoted] * (len(headers) + 1))]
        file = SimpleUploadedFile(f"{unquoted}.csv", "\n".join(rows).encode(), content_type="text/csv")
        sent = client.post(reverse("sheet_send", args=[kind]), {"file": file})
        key = resolve(sent.url).kwargs["key"]
        for route in ("sheet_preview", "sheet_columns"):
            response = client.get(reverse(route, args=[key]))
            found = Form(html_of(response)).typed
            if found or response.status_code != 200:
                wrong[kind, route] = (response.status_code, found)
    assert wrong == {}
