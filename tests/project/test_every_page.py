"""Every page as every person, fetched once and looked at in four ways.

Who may not open it is refused; every link it draws leads somewhere; every box that promises offers gets them; axe-core finds nothing that would keep somebody from using it.
"""

import re
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.urls import resolve
from django.utils import timezone

from registry.choices import TreeStatus
from registry.services.orchard.tree_status import tree_status_set
from tests import factories
from tests.browser.axe import Reader, skeleton
from tests.people import UNKNOWN_ROLE, names
from tests.project.access_table import OFFICE, walk, wrong_answers

pytestmark = pytest.mark.django_db

# the lists, the pages of records and the pages that gather them: what people read and click through
_ENDINGS = ("_list", "_detail", "_records", "_numbers", "_year", "_duties", "_map")
_OTHERS = {
    "today",
    "calendar",
    "help",
    "results",
    "survival",
    "survival_lifetimes",
    "survival_by_site",
    "survival_lineages",
    "survival_measured",
    "survival_growth",
    "map",
    "identity_impact",
    "lot_calendar",
    "lot_tools",
    "determination_ask",
}


class _Links(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        href = dict(attrs).get("href") or ""
        if tag == "a" and href.startswith("/"):
            self.found.add(href.split("#")[0].split("?")[0])


def is_page(response):
    return response.status_code == 200 and response.headers["Content-Type"].startswith("text/html")


def links_of(response):
    reader = _Links()
    reader.feed(response.content.decode())
    return reader.found


def decided_and_rogued(lead):
    """A tree to be rogued that is still standing, and one rogued without a decision: both ask for something on their pages."""
    decision = factories.decision(factories.pedigree_tree(), decision="rogued", actor=lead)
    tree = factories.pedigree_tree()
    tree_status_set(actor=lead, tree=tree, status=TreeStatus.ROGUED, on=timezone.localdate(), reason="cankered")
    return [f"/decisions/{decision.pk}/", f"/mother-trees/{decision.tree_id}/", f"/mother-trees/{tree.pk}/"]


@pytest.fixture(scope="module")
def everything(shared_world, django_db_blocker):
    """The shared world and two odd trees. (people, records, special, more pages)."""
    with django_db_blocker.unblock():
        return *shared_world, decided_and_rogued(shared_world[0]["lead"])


@pytest.fixture(scope="module", params=names())
def walked(request, everything):
    """(who, {route: (address, response)}) of one person."""
    people, records, special, _more = everything
    return request.param, walk(Client(), people[request.param], records, special)


@pytest.fixture(scope="module")
def reader():
    with Reader() as reader:
        yield reader


class LookedAt:
    """What axe-core has read: the pages of each route by what they are made of, and what errors add to forms."""

    def __init__(self):
        self.pages, self.errors = set(), set()

    def is_new(self, name, html, sent=None):
        """Whether axe-core has something to read. `sent`: the form that was refused; its errors come from one template for all forms."""
        if sent is None:
            page = name, skeleton(html)
            found = page not in self.pages
            self.pages.add(page)
        else:
            added = skeleton(html) - skeleton(sent)
            found = not added <= self.errors
            self.errors |= added
        return found


@pytest.fixture(scope="module")
def looked_at():
    return LookedAt()


def test_a_page_is_read_once_by_what_it_is_made_of():
    looked_at = LookedAt()
    form, refused = "<form><input name=code></form>", "<form><p class=field-error>Fill in.</p><input name=code></form>"
    assert [looked_at.is_new(*page) for page in (("lot_add", form), ("lot_edit", form), ("lot_add", form.replace("code", "year")))] == [
        True, True, False,
    ]  # fmt: skip
    assert [looked_at.is_new("lot_add", refused, form), looked_at.is_new("site_add", refused, form)] == [True, False]
    otherwise = refused.replace("input name", "input aria-invalid name")
    assert [looked_at.is_new("site_edit", otherwise, form), looked_at.is_new("site_edit", otherwise)] == [True, True]


def test_every_route_as_every_person(walked):
    who, pages = walked
    assert wrong_answers(pages, who) == []


def _answer(client, person, link):
    """The status somebody gets; of a file to download only whether their role may have it, because drawing it takes long."""
    if "." in link:
        return 200 if person.may(resolve(link).func.view_class.action) else 403
    return client.get(link).status_code


@pytest.mark.one_database  # what a page says is the same on both
def test_no_link_of_a_main_page_is_refused_or_leads_nowhere(client, walked, everything):
    who, pages = walked
    people, _records, _special, more = everything
    client.force_login(people[who])
    main = [(path, response) for name, (path, response) in pages.items() if name in _OTHERS or name.endswith(_ENDINGS)]
    main += [(path, client.get(path)) for path in more]
    answers = {path: response.status_code for path, response in pages.values()}
    drawn_on = {}
    for path, response in main:
        if is_page(response):
            drawn_on |= {link: path for link in links_of(response) if link not in drawn_on}
    assert drawn_on or who == UNKNOWN_ROLE
    answers |= {link: _answer(client, people[who], link) for link in drawn_on if link not in answers}
    assert {link: (answers[link], page) for link, page in drawn_on.items() if answers[link] in {403, 404}} == {}


def test_every_box_that_promises_offers_is_answered(client, walked, everything):
    who, pages = walked
    client.force_login(everything[0][who])
    boxes = {
        (path, re.search(r'name="([^"]+)"', tag)[1])
        for path, response in pages.values()
        if is_page(response)
        for tag in re.findall(r"<input[^>]*\bdata-offers\b[^>]*>", response.content.decode())
    }
    assert [box for box in boxes if client.get(box[0], {"offer": box[1], "fits": "P"}).status_code != 200] == []
    assert len(boxes) > 15 or who not in OFFICE


def readable(who, pages, client):
    """(name, HTML, the form that was sent) of what somebody can open; by the lead also every form sent empty."""
    for name, (path, response) in pages.items():
        if is_page(response):
            html = response.content.decode()
            yield name, html, None
            if who == "lead" and b'class="record-form"' in response.content[:200_000] and is_page(again := client.post(path, {})):
                yield name, again.content.decode(), html


@pytest.mark.browser
@pytest.mark.one_database
def test_axe_finds_nothing_on_any_page_of_anybody(client, walked, everything, reader, looked_at):
    who, pages = walked
    client.force_login(everything[0][who])
    wrong, count = [], 0
    for name, html, sent in readable(who, pages, client):
        count += 1
        if not looked_at.is_new(name, html, sent):
            continue
        # the map is a frame of the page "map", which has the heading and the landmarks
        frame = ("page-has-heading-one", "landmark-one-main") if name == "map_embed" else ()
        wrong += [f"{name} as {who}: {line}" for line in reader.findings(html) if line.split(" at ")[0] not in frame]
    assert not wrong, "\n".join(wrong)
    assert count >= 10 or who == UNKNOWN_ROLE
