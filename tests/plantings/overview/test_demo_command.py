"""The demo command where there are no records, and where there are real ones."""

from dataclasses import replace

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from plantings.imports.demo.loading import demo_load
from plantings.imports.demo.sheets import demo_sheets
from plantings.imports.kinds import KINDS
from plantings.management.commands import demo as command
from registry.models import Partner, Person
from tests import factories
from tests.plantings.overview.demo_output import phrases, printed

pytestmark = pytest.mark.django_db


@pytest.fixture
def partners_and_people():
    return [sheet for sheet in demo_sheets() if sheet.kind in ("partner", "person")]


def test_a_real_site_does_not_get_new_passwords():
    person = factories.person()
    with pytest.raises(CommandError, match="not made by the demo"):
        call_command("demo", "--passwords")
    person.refresh_from_db()
    assert person.check_password(factories.PASSWORD)


def test_the_command_says_what_it_loaded_and_prints_the_accounts(partners_and_people, monkeypatch):
    monkeypatch.setattr(command, "demo_load", lambda: demo_load(partners_and_people))
    text = printed("-v2")
    assert "The demo is loaded: 2 sheets, 24 rows." in text and "21_partner.csv: 12 new" in text
    assert len(phrases(text)) == 6 and "Landowner contact" in text


def test_a_sheet_that_does_not_fit_stores_nothing(partners_and_people, monkeypatch):
    partners, people = partners_and_people
    people = replace(people, content=people.content.replace(b"PT-07", b"PT-99"))
    monkeypatch.setattr(command, "demo_load", lambda: demo_load([partners, people]))
    with pytest.raises(CommandError, match="nothing was stored.*PT-99"):
        call_command("demo")
    assert not Person.objects.exists() and not Partner.objects.exists()


def test_a_database_without_tables_is_said_to_need_them(monkeypatch):
    monkeypatch.setattr(connection.introspection, "table_names", list)
    with pytest.raises(CommandError, match="Run first: manage.py migrate"):
        call_command("demo")


def test_the_sheets_are_written_into_a_folder_and_nothing_is_loaded(tmp_path):
    folder = tmp_path / "new" / "sheets"
    text = printed("--write", str(folder))
    written = sorted(folder.iterdir())
    assert f"{len(written)} sheets are written into {folder}" in text and not Person.objects.exists()
    assert {path.name: path.read_bytes() for path in written} == {sheet.name: sheet.content for sheet in demo_sheets()}
    # trees are drawn from the records, so what was measured again is no sheet of the demo; no tree of it got a new tag
    assert {path.stem[3:].removesuffix("_late") for path in written} == KINDS.keys() - {"second_measurement", "retag"}


def test_a_written_sheet_loads_as_a_file_of_a_user(tmp_path):
    printed("--write", str(tmp_path))
    factories.person("lead")
    call_command("load", "partner", str(tmp_path / "21_partner.csv"), verbosity=0)
    assert Partner.objects.filter(code__startswith="PT-").count() == 12


def test_no_file_of_the_folder_is_overwritten(tmp_path):
    mine = tmp_path / "37_planting.csv"
    mine.write_text("mine")
    with pytest.raises(CommandError, match=r"37_planting\.csv is already in .* Nothing was written"):
        call_command("demo", "--write", str(tmp_path))
    assert [path.name for path in tmp_path.iterdir()] == [mine.name] and mine.read_text() == "mine"


def test_a_folder_that_cannot_be_made_is_said_so(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="cannot be written into"):
        call_command("demo", "--write", str(tmp_path / "file" / "folder"))
