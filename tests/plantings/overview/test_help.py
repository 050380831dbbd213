import html

import pytest
from django.urls import reverse

from plantings.views.overview.glossary import GLOSSARY
from registry.access import roles
from registry.access.action_words import ACTION_WORDS, SECTIONS
from tests import factories


def test_every_action_is_said_in_words():
    assert set(ACTION_WORDS) == set(roles.ACTIONS)
    assert {section for section, _ in ACTION_WORDS.values()} == set(SECTIONS)


@pytest.mark.django_db
def test_help_says_what_each_role_may_do_without_raw_names(client):
    client.force_login(factories.person("volunteer"))
    page = html.unescape(client.get(reverse("help")).content.decode())
    assert [label for label in roles.ROLES.values() if f"<summary>{label}</summary>" in page] == ["Volunteer (person)"]
    client.force_login(factories.person("coordinator"))
    page = html.unescape(client.get(reverse("help")).content.decode())
    assert [label for label in roles.ROLES.values() if f"<summary>{label}</summary>" not in page] == []
    assert "enter the census, and correct their own records while the round is open." in page
    assert [action for action in roles.ACTIONS if f"{action}," in page or f"{action}<" in page] == []


def test_the_glossary_has_the_words_the_screens_use():
    words = [word.lower() for word, _ in GLOSSARY]
    assert words == sorted(words)
    wanted = (
        "gate",
        "determination",
        "cap",
        "clock",
        "override",
        "share",
        "band",
        "pool",
        "bulk",
        "assessed",
        "complete census",
        "sown as seed",
        "seen but state unclear",
        "as recorded then",
        "field form",
        "county",
        "second person",
        "taken back",
        "rogued",
        "ledger",
        "cull",
        "floor",
        "impact",
        "presumed dead",
    )
    assert [word for word in wanted if not any(word in entry for entry in words)] == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    "words",
    [
        "take the dispatch back",
        "Open the receipt, or the leftovers on the page of the shipment",
        "The crew corrects its own records while the round is open",
        "signs in and confirms it",
        "by the outlines of the Census Bureau",
        # the limits of the sign-in, as decided for this programme: 10 and 100 wrong ones, 15 minutes, 3 mails an hour
        "After 10 wrong passwords an account is locked for 15 minutes, and after 100 in a row",
        "can be asked for by mail 3 times an hour",
    ],
)
def test_help_says_what_to_do_when_something_went_wrong(client, words):
    client.force_login(factories.person("volunteer"))
    assert words in html.unescape(client.get(reverse("help")).content.decode())


@pytest.mark.django_db
@pytest.mark.parametrize(("role", "parts"), [("lead", 12), ("volunteer", 9)])  # a volunteer has no programs, loads and mappings
def test_help_lists_its_parts_and_each_leads_to_one(client, role, parts):
    client.force_login(factories.person(role))
    page = client.get(reverse("help"))
    ids = [id_ for id_, _title in page.context["contents"]]
    assert len(ids) == parts
    assert [id_ for id_ in ids if page.content.decode().count(f'id="{id_}"') != 1 or f'href="#{id_}"' not in page.content.decode()] == []
