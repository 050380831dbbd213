"""The demo command in an empty book, and in a real one."""

import shutil

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client

from plantings.imports import demo
from plantings.management.commands import demo as command
from registry.models import Partner, Person
from tests import factories
from tests.plantings.overview.demo_output import phrases, printed

pytestmark = pytest.mark.django_db


def test_a_real_site_does_not_get_new_passwords():
    person = factories.person()
    with pytest.raises(CommandError, match="not made by the demo"):
        call_command("demo", "--passwords")
    assert Client().login(username=person.username, password=factories.PASSWORD)


def test_the_command_says_what_it_loaded_and_prints_the_accounts(tmp_path, monkeypatch):
    for name in ("21_partner.csv", "22_person.csv"):
        shutil.copy(demo.DEMO_FOLDER / name, tmp_path)
    monkeypatch.setattr(command, "demo_load", lambda: demo.demo_load(tmp_path))
    text = printed("-v2")
    assert "The demo is loaded: 2 sheets, 24 rows." in text and "21_partner.csv: 12 new" in text
    assert len(phrases(text)) == 6 and "Landowner contact" in text


def test_a_sheet_that_does_not_fit_stores_nothing(tmp_path, monkeypatch):
    shutil.copy(demo.DEMO_FOLDER / "21_partner.csv", tmp_path)
    people = (demo.DEMO_FOLDER / "22_person.csv").read_text(encoding="utf-8").replace("PT-07", "PT-99")
    (tmp_path / "22_person.csv").write_text(people, encoding="utf-8")
    monkeypatch.setattr(command, "demo_load", lambda: demo.demo_load(tmp_path))
    with pytest.raises(CommandError, match="nothing was stored.*PT-99"):
        call_command("demo")
    assert not Person.objects.exists() and not Partner.objects.exists()


def test_a_database_without_tables_is_said_to_need_them(monkeypatch):
    monkeypatch.setattr(connection.introspection, "table_names", list)
    with pytest.raises(CommandError, match="Run first: manage.py migrate"):
        call_command("demo")
