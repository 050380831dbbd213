"""Every page belongs to a section of the bar, so that the bar says where one is."""

import pytest
from django.urls import reverse

from registry.views.shared.navigation import SECTIONS
from tests import factories
from tests.project.access_table import PUBLIC, routes

OF_NO_SECTION = {"find", "trace"}  # any record, whatever its section


def test_every_page_belongs_to_one_section():
    words = [word for *_section, names in SECTIONS for word in names.split()]
    sections = {name: [word for word in words if name == word or name.startswith(f"{word}_")] for name, _path, _view in routes()}
    wrong = {name: found for name, found in sections.items() if len(found) != 1 and name not in PUBLIC | OF_NO_SECTION}
    assert wrong == {}


@pytest.mark.django_db
@pytest.mark.one_database  # test_every_page opens each list on both
def test_every_list_is_linked_from_a_section_or_another_list(client):
    client.force_login(factories.person("lead"))
    lists = [name for name, path, _view in routes() if name and name.endswith("_list") and "<" not in path]
    assert len(lists) >= 20
    pages = {name: client.get(reverse(name)).content.decode() for name in {*lists, *(section[2] for section in SECTIONS)}}
    own_bar = {section[2] for section in SECTIONS}
    linked = {name for name in lists for other, page in pages.items() if other != name and f'href="{reverse(name)}"' in page}
    assert set(lists) - linked - own_bar == set()
