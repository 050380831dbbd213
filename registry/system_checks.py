"""What an administrator can get wrong in the settings, told by `manage.py check` with an id and a hint."""

import datetime
import os
from urllib.parse import urlsplit

from django.conf import settings
from django.core.checks import Error, Warning
from django.http.request import validate_host
from django.utils import timezone

from registry.calc.shared.screen import day_words

_WRITTEN = datetime.date(2026, 1, 1)  # this version is younger: no clock that is right reads an earlier day
_THIS_MACHINE = {"localhost", "127.0.0.1", "[::1]"}


def check_settings(app_configs=None, **kwargs):
    """Messages about settings that do not fit together; none for the defaults."""
    return [message for find in (_site_url, _open_to_others, _mail, _tiles, _clock, _data_folder) for message in find()]


def _site_url():
    parts = urlsplit(settings.SITE_URL)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        yield Error(
            f"SITE_URL is “{settings.SITE_URL}”, which is not an address. Links in mails and calendars would not work.",
            hint="Write it with its scheme, such as https://records.example.org.",
            id="registry.E001",
        )
    elif not validate_host(parts.hostname, settings.ALLOWED_HOSTS or _THIS_MACHINE):
        yield Warning(
            f"SITE_URL leads to {parts.hostname}, which is not in ALLOWED_HOSTS. Links in mails and calendars would be refused.",
            hint=f"Add {parts.hostname} to ALLOWED_HOSTS, or correct SITE_URL.",
            id="registry.W002",
        )


def _open_to_others():
    others = sorted(set(settings.ALLOWED_HOSTS) - _THIS_MACHINE)
    if others and settings.DEBUG:
        yield Warning(
            f"DEBUG is on and ALLOWED_HOSTS names {', '.join(others)}. An error would show settings and data to everyone there.",
            hint="Set DEBUG=no where others use Mastbook.",
            id="registry.W003",
        )
    if others and not settings.TLS:
        yield Warning(
            f"TLS is off and ALLOWED_HOSTS names {', '.join(others)}. Passwords would travel unencrypted.",
            hint="Put a proxy with HTTPS in front of Mastbook and set TLS=yes.",
            id="registry.W004",
        )


def _mail():
    is_this_machine = urlsplit(settings.SITE_URL).hostname in {host.strip("[]") for host in _THIS_MACHINE}
    if not settings.EMAIL_HOST and not is_this_machine:
        yield Warning(
            "EMAIL_HOST is not set. Weekly mails and new passwords are only printed on the console.",
            hint="Set EMAIL_HOST, EMAIL_PORT, EMAIL_HOST_USER and EMAIL_HOST_PASSWORD.",
            id="registry.W005",
        )
    if settings.EMAIL_HOST and settings.DEFAULT_FROM_EMAIL.endswith("@localhost"):
        yield Warning(
            f"Mails are sent from {settings.DEFAULT_FROM_EMAIL}. Most mail servers refuse that address.",
            hint="Set DEFAULT_FROM_EMAIL to an address of the programme.",
            id="registry.W006",
        )


def _tiles():
    url = settings.MAP_TILES_URL
    missing = [part for part in ("{z}", "{x}", "{y}") if part not in url]
    if url and (missing or urlsplit(url).scheme != "https"):
        yield Error(
            f"MAP_TILES_URL is “{url}”, which is not an address of map tiles.",
            hint="Write it like https://tiles.example.org/{z}/{x}/{y}.png, or leave it blank for maps without tiles.",
            id="registry.E007",
        )


def _clock():
    today = timezone.localdate()
    if today < _WRITTEN:
        yield Warning(
            f"The clock of this machine says {day_words(today)}, which is before this version was written. Records would get wrong days.",
            hint="Set the clock of the machine, and let it follow a time server.",
            id="registry.W008",
        )


def _data_folder():
    """Folders and files that Mastbook writes into and may not: of the database each, of the others the folder."""
    database = settings.DATABASES["default"]
    is_file = database["ENGINE"].endswith("sqlite3")
    places = [settings.DATA_DIR, settings.STATIC_ROOT, settings.MEDIA_ROOT, *([database["NAME"]] if is_file else [])]
    closed = [str(place) for place in places if os.path.exists(place) and not os.access(place, os.W_OK)]
    if closed:
        yield Warning(
            f"Mastbook may not write into {', '.join(closed)}. Pages can be read at most, and nothing can be saved.",
            hint="Give them to the account that runs Mastbook (chown), or mount their disk for writing.",
            id="registry.W009",
        )
