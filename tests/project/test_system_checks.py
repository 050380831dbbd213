"""Settings that do not fit together are named by `manage.py check`, each with an id and what to do."""

import datetime
import os

import pytest
from django.utils import timezone

from registry.system_checks import check_settings

OTHERS = {"ALLOWED_HOSTS": ["records.example.org"], "SITE_URL": "https://records.example.org"}
WHOLE = OTHERS | {"TLS": True, "DEBUG": False, "EMAIL_HOST": "mail.example.org", "DEFAULT_FROM_EMAIL": "office@example.org"}


def found(settings, values):
    for name, value in values.items():
        setattr(settings, name, value)
    return check_settings()


@pytest.mark.parametrize(
    ("change", "ids"),
    [
        ({}, []),
        ({"SITE_URL": "records.example.org"}, ["registry.E001"]),
        ({"SITE_URL": "https://other.example.org"}, ["registry.W002"]),
        ({"DEBUG": True}, ["registry.W003"]),
        ({"TLS": False}, ["registry.W004"]),
        ({"EMAIL_HOST": ""}, ["registry.W005"]),
        ({"DEFAULT_FROM_EMAIL": "mastbook@localhost"}, ["registry.W006"]),
        ({"MAP_TILES_URL": "https://tiles.example.org/{z}/{x}.png"}, ["registry.E007"]),
        ({"MAP_TILES_URL": "tiles.example.org/{z}/{x}/{y}.png"}, ["registry.E007"]),
        ({"MAP_TILES_URL": "https://tiles.example.org/{z}/{x}/{y}.png"}, []),
    ],
)
def test_each_mistake_has_its_id_and_a_hint(settings, change, ids):
    messages = found(settings, WHOLE | change)
    assert [message.id for message in messages] == ids
    assert all(message.hint and message.hint.endswith(".") for message in messages)


def test_the_defaults_have_no_mistake(settings):
    defaults = {
        "ALLOWED_HOSTS": ["localhost", "127.0.0.1", "[::1]"], "SITE_URL": "http://localhost:8000", "TLS": False, "DEBUG": False,
        "EMAIL_HOST": "", "DEFAULT_FROM_EMAIL": "mastbook@localhost", "MAP_TILES_URL": "",
    }  # fmt: skip
    assert found(settings, defaults) == []


def test_several_mistakes_are_named_together(settings):
    messages = found(settings, WHOLE | {"TLS": False, "EMAIL_HOST": ""})
    assert [message.id for message in messages] == ["registry.W004", "registry.W005"]


def test_a_clock_that_cannot_be_right_is_named(settings, monkeypatch):
    monkeypatch.setattr(timezone, "localdate", lambda: datetime.date(1970, 1, 1))
    [message] = found(settings, WHOLE)
    assert message.id == "registry.W008" and "The clock of this machine says 1 Jan 1970" in message.msg


def test_a_data_folder_that_takes_nothing_is_named(settings, tmp_path, monkeypatch):
    closed = tmp_path / "data"
    closed.mkdir()
    monkeypatch.setattr(os, "access", lambda place, mode: str(place) != str(closed))  # root may write whatever chmod says
    [message] = found(settings, WHOLE | {"DATA_DIR": closed})
    assert message.id == "registry.W009" and f"may not write into {closed}." in message.msg
