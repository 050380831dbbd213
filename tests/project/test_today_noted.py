"""Today is shown though the look at it cannot be noted: while somebody loads a sheet, and on a full disk."""

import time

import pytest
from django.contrib.sessions.models import Session
from django.db import OperationalError, connection

from plantings.views.overview import today
from tests import factories
from tests.project.test_busy import a_sheet, held

SQLITE = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="on PostgreSQL saves wait for shared rows only")


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def looks():
    return [one.get_decoded().get(today._LOOK) for one in Session.objects.all()]


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_today_is_shown_at_once_while_somebody_loads_a_sheet(client):
    client.force_login(factories.person("lead"))
    with held(a_sheet):
        begins = time.monotonic()
        assert client.get("/").status_code == 200
        assert time.monotonic() - begins < 5  # a page took 20 s and failed
    assert looks() == [None]
    assert client.get("/").status_code == 200 and looks()[0]["look"]
    connection.close()


@pytest.mark.django_db
@pytest.mark.parametrize("words", ["database or disk is full", "attempt to write a readonly database"])
def test_today_is_shown_where_nothing_can_be_saved(client, monkeypatch, words):
    client.force_login(factories.person("lead"))

    def refuse(*args, **given):
        raise OperationalError(words)

    with monkeypatch.context() as patch:
        patch.setattr(Session, "save", refuse)
        assert client.get("/").status_code == 200
    assert looks() == [None]
