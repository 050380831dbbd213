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
    )
    assert [word for word in wanted if not any(word in entry for entry in words)] == []
