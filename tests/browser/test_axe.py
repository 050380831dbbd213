"""Headings in order, names on every box, contrast, landmarks: axe-core finds nothing without a sign-in and in the style guide.

What a signed-in person can open is in tests/project/test_every_page.py.
"""

import pytest
from django.test import Client
from django.urls import reverse

from registry.services.land.links import link_make
from tests.browser.axe import Reader
from tests.project.one_of_everything import world
from tests.style_guide.guide import guide

pytestmark = [pytest.mark.django_db, pytest.mark.browser, pytest.mark.one_database]


@pytest.fixture(scope="module")
def reader():
    with Reader() as reader:
        yield reader


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


KNOWN = """<!doctype html><html lang="en"><title>x</title><style>.pale {color: #bbb} .dark {background: #222}</style><main><h1>One</h1><h2>Two</h2>
<h3>Three</h3><label for="a">Box</label><input id="a"><div class="dark"><p class="pale">Light on dark</p></div><div class="plain"><p>Text</p></div></main>"""


@pytest.mark.parametrize(
    ("before", "after", "rule"),
    [
        ("<h2>Two</h2>\n<h3>Three</h3>", "<h3>Three</h3><h2>Two</h2>", "heading-order"),
        ('for="a"', 'for="b"', "label"),
        ('"plain"><p>', '"plain"><p class="pale">', "color-contrast"),
    ],
)
def test_axe_finds_what_is_wrong_on_a_page_of_known_elements(reader, before, after, rule):
    assert reader.findings(KNOWN) == [] and before in KNOWN
    assert {line.split(" at ")[0] for line in reader.findings(KNOWN.replace(before, after))} == {rule}
