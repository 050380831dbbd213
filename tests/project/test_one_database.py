"""Which tests run on SQLite alone: those without access to the database or with a browser, and those that say so."""

import os
import runpy

import pytest
from django.db import OperationalError
from django.db.utils import ConnectionHandler
from hypothesis.extra.django import TestCase

from tests.places import PROJECT


@pytest.fixture
def record(db):
    return "a record"


def test_plain():
    assert "DATABASE_URL" in os.environ


def test_of_a_fixture_that_asks(record):
    assert record


@pytest.mark.django_db
def test_of_a_mark():
    assert "mark_this_test" not in os.environ.get("DATABASE_URL", "")


@pytest.fixture
def browser():
    return "none is started: its name is what counts"


def test_of_a_browser(browser):
    assert browser


class Case(TestCase):
    def test_of_a_case(self):
        self.assertTrue(self.databases)


def test_tests_without_access_or_with_a_browser_run_on_one_database(request):
    items = [item for item in request.session.items if item.path.name == "test_one_database.py"]
    once = {item.name: item.get_closest_marker("one_database") is not None for item in items}
    expected = {
        "test_plain": True,
        "test_of_a_browser": True,
        "test_of_a_fixture_that_asks": False,
        "test_of_a_mark": False,
        "test_of_a_case": False,
    }
    assert {name: once[name] for name in expected} == expected


@pytest.mark.parametrize("name", ["db", "transactional_db"])
def test_a_fixture_asked_for_while_running_is_refused(request, name):
    for _time in range(2):
        with pytest.raises(pytest.fail.Exception, match="Mark it django_db"):
            request.getfixturevalue(name)


def test_another_program_finds_no_database(tmp_path, monkeypatch, django_db_blocker):
    monkeypatch.setenv("MASTBOOK_DATA_DIR", str(tmp_path))
    databases = runpy.run_path(str(PROJECT / "registry" / "settings.py"))["DATABASES"]
    with django_db_blocker.unblock(), pytest.raises(OperationalError):
        ConnectionHandler(databases)["default"].ensure_connection()
