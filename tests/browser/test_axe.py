"""Headings in order, names on every box, contrast, landmarks: axe-core finds nothing on any page that anybody can open."""

import pytest
from django.test import Client
from django.urls import reverse

from registry.services.land.links import link_make
from tests.browser.axe import Reader, skeleton
from tests.project.test_access import PUBLIC, ROUTES, address, routes, world
from tests.style_guide.guide import guide

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]

WHO = ("lead", "coordinator", "manager", "auditor", "volunteer", "landowner", "other volunteer", "other landowner")
SHARES = 4  # so that all cores of the machine take a part


@pytest.fixture
def reader(browser):
    reader = Reader(browser)
    yield reader
    reader.close()


def _pages(share):
    """(name, HTML) of each page made of other elements: every route as everybody who may open it, every form sent empty by the lead."""
    people, records, special = world()
    seen = set()
    named = [(name, pattern) for name, pattern, _view in sorted(routes(), key=lambda route: route[0]) if name not in PUBLIC]
    for who in WHO:
        client = Client()
        client.force_login(people[who])
        for name, pattern in named[share::SHARES]:
            if who not in ROUTES[name][0]:
                continue
            path = address(name, pattern, records, special)
            answers = [client.get(path)]
            if who == "lead" and b'class="record-form"' in answers[0].content[:200_000]:
                answers.append(client.post(path, {}))
            for response in answers:
                if response.status_code != 200 or not response.headers["Content-Type"].startswith("text/html"):
                    continue
                html = response.content.decode()
                if (name, skeleton(html)) not in seen:
                    seen.add((name, skeleton(html)))
                    yield f"{name} as {who}", html


@pytest.mark.parametrize("share", range(SHARES))
def test_axe_finds_nothing_on_any_page_of_anybody(reader, share):
    wrong, count = [], 0
    for name, html in _pages(share):
        count += 1
        # the map is a frame of the page "map", which has the heading and the landmarks
        frame = ("page-has-heading-one", "landmark-one-main") if name.startswith("map_embed") else ()
        wrong += [f"{name}: {line}" for line in reader.findings(html) if line.split(" at ")[0] not in frame]
    assert not wrong, "\n".join(wrong)
    assert count > 40


def test_axe_finds_nothing_on_pages_without_a_sign_in(reader):
    people, _records, _special = world()
    _link, token = link_make(actor=people["lead"], person=people["landowner"])
    paths = [reverse(name) for name in ("login", "password_reset", "password_reset_done", "password_reset_complete")]
    paths += [reverse("land_page", args=[token]), "/no-such-page/"]
    client = Client()
    wrong = [f"{path}: {line}" for path in paths for line in reader.findings(client.get(path).content.decode())]
    assert not wrong, "\n".join(wrong)


def test_axe_finds_nothing_in_the_style_guide(reader):
    found = reader.findings(guide())
    assert not found, "\n".join(found)


def test_axe_does_find_what_is_wrong(reader):
    found = reader.findings("<title>x</title><h1>x</h1><main><h4>Skipped</h4><input><table><tr><th></th></tr></table></main>")
    rules = {line.split(" at ")[0] for line in found}
    assert {"html-has-lang", "heading-order", "label", "empty-table-header"} <= rules
