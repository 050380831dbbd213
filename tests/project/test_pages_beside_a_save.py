"""Pages are shown while somebody loads a sheet: Today, whose look cannot be noted then or on a full disk, and the first after a start."""

import time

import pytest
from django.contrib.sessions.models import Session
from django.db import OperationalError, connection
from django.urls import reverse

from plantings.views.overview import today
from tests import factories
from tests.project.test_busy import SQLITE, a_sheet, held


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


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_process_that_starts_while_somebody_saves_reads_json(client):
    """The first question about JSON came while another process had the database, and the answer was kept as a no for good."""
    client.force_login(factories.person("lead"))
    shipment = factories.shipment()
    connection.features.__dict__.pop("supports_json_field", None)
    with held(a_sheet):
        begins = time.monotonic()
        assert connection.features.supports_json_field and time.monotonic() - begins < 1
        assert client.get(reverse("shipment_dispatch", args=[shipment.pk])).status_code == 200
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
