"""Which tests run on SQLite alone: those without access to the database or with a browser, and those that say so."""

import os
import runpy
from types import SimpleNamespace

import pytest
from django.db import OperationalError
from django.db.utils import ConnectionHandler
from hypothesis.extra.django import TestCase

from tests.conftest import left_out_on_postgresql
from tests.places import PROJECT
from tests.prove import WITHOUT_DATABASE


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


def test_a_test_that_both_need_is_refused_in_a_folder_left_out(request):
    items = {item.name: item for item in request.session.items if item.path.name == "test_one_database.py"}
    unread = SimpleNamespace(
        nodeid="tests/calc/shared/test_iso.py::test_a_day", get_closest_marker=items["test_of_a_mark"].get_closest_marker
    )
    pure = SimpleNamespace(nodeid="tests/calc/shared/test_iso.py::test_a_day", get_closest_marker=items["test_plain"].get_closest_marker)
    assert left_out_on_postgresql([unread, pure, items["test_of_a_mark"]]) == [unread.nodeid]


def test_every_folder_left_out_on_postgresql_is_there():
    assert [folder for folder in WITHOUT_DATABASE if not (PROJECT / folder).is_dir()] == []


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
