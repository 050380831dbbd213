"""Addresses with numbers that no calendar, database or program can hold are not found, and nothing is raised."""

import re

import pytest

from tests import factories
from tests.project.access_table import PUBLIC, address, routes

pytestmark = pytest.mark.django_db

NUMBERS = ("0", "9999", "10000", "9223372036854775808", "9" * 400, "9" * 4000, "9" * 5000)


def numbered(records, special):
    """Every address with a number in it, once for each of the numbers."""
    for name, pattern, _view in routes():
        found = re.search(r"<int:(\w+)>(?!.*<int:)", pattern)
        if found and name not in PUBLIC:
            path = address(name, pattern, records, special)
            after = pattern[found.end() :]
            start = path[: len(path) - len(after)] if not re.search("<", after) else ""
            head = start.rstrip("0123456789")
            if head:
                yield from (f"{head}{number}{after}" for number in NUMBERS)


def test_no_number_in_an_address_raises(client, shared_world):
    people, records, special = shared_world
    client.force_login(people["lead"])
    client.raise_request_exception = False
    paths = list(numbered(records, special))
    assert len(paths) > 500
    wrong = {path[:60]: status for path in paths if (status := client.get(path).status_code) not in {200, 302, 400, 404}}
    assert wrong == {}


@pytest.mark.parametrize("month", ["0000-01", "9999-12", "9999-13", "10000-01", "9" * 400 + "-01", "-1", "\u0661\u0661-01"])
def test_a_month_that_no_calendar_has_is_not_found(client, month):
    client.force_login(factories.person("lead"))
    assert client.get("/calendar/", {"month": month}).status_code == 404
