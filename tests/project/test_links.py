"""Every link the site draws leads somewhere: whoever follows it gets a page, not a refusal and not “not found”."""

from html.parser import HTMLParser

import pytest
from django.utils import timezone

from registry.choices import TreeStatus
from registry.services.orchard.tree_status import tree_status_set
from tests import factories
from tests.people import UNKNOWN_ROLE, names
from tests.project.test_access import PUBLIC, address, routes, world

pytestmark = pytest.mark.django_db

# the lists, the pages of records and the pages that gather them: what people read and click through
_ENDINGS = ("_list", "_detail", "_records", "_numbers", "_year", "_duties", "_map")
_OTHERS = {"today", "calendar", "help", "results", "survival", "map", "identity_impact", "lot_calendar", "lot_tools", "determination_ask"}


class _Links(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found = set()

    def handle_starttag(self, tag, attrs):
        href = dict(attrs).get("href") or ""
        if tag == "a" and href.startswith("/"):
            self.found.add(href.split("#")[0].split("?")[0])


def links_of(response):
    reader = _Links()
    reader.feed(response.content.decode())
    return reader.found


def main_pages(records, special):
    """The addresses of the main pages; of a record type with several records in hand, of each."""
    wanted = [(name, pattern) for name, pattern, _view in routes() if name not in PUBLIC]
    return [address(name, pattern, records, special) for name, pattern in wanted if name in _OTHERS or name.endswith(_ENDINGS)]


def decided_and_rogued(lead):
    """A tree to be rogued that is still standing, and one rogued without a decision: both ask for something on their pages."""
    decision = factories.decision(factories.pedigree_tree(), decision="rogued", actor=lead)
    tree = factories.pedigree_tree()
    tree_status_set(actor=lead, tree=tree, status=TreeStatus.ROGUED, on=timezone.localdate(), reason="cankered")
    return [f"/decisions/{decision.pk}/", f"/mother-trees/{decision.tree_id}/", f"/mother-trees/{tree.pk}/"]


def dead_links(client, person, pages):
    """{link: (status, the page that draws it)} of links this person is refused or that lead nowhere."""
    client.force_login(person)
    drawn_on = {}
    for page in pages:
        response = client.get(page)
        if response.status_code == 200 and response["Content-Type"].startswith("text/html"):
            drawn_on |= {link: page for link in links_of(response) if link not in drawn_on}
    assert drawn_on
    answers = {link: client.get(link).status_code for link in drawn_on}
    return {link: (status, drawn_on[link]) for link, status in answers.items() if status in {403, 404}}


@pytest.mark.parametrize("who", [name for name in names() if name != UNKNOWN_ROLE])
def test_no_link_of_a_main_page_is_refused_or_leads_nowhere(client, who):
    people, records, special = world()
    pages = [*main_pages(records, special), *decided_and_rogued(people["lead"])]
    assert dead_links(client, people[who], pages) == {}
