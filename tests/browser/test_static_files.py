"""Style sheets and scripts as a site serves them once `prepare` has collected them: few, compressed, fetched once."""

import re
import threading
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.core.management import call_command
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application
from django.test import Client
from django.urls import reverse

from tests.places import PROJECT

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.one_database]  # static files are no records


@pytest.fixture
def collected(settings, tmp_path):
    """The static files in a folder, as `prepare` leaves them."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STATIC_ROOT.mkdir()
    settings.WHITENOISE_AUTOREFRESH = False
    settings.ALLOWED_HOSTS = ["127.0.0.1", "testserver"]
    call_command("collectstatic", interactive=False, verbosity=0)
    return settings.STATIC_ROOT


class _QuietHandler(WSGIRequestHandler):
    def log_message(self, *words):
        pass


@pytest.fixture
def site(collected):
    """(address, paths asked for so far): the site behind a plain server, since the live server of the tests finds static files itself."""
    asked, application = [], get_wsgi_application()

    def counted(environ, start_response):
        asked.append(environ["PATH_INFO"])
        return application(environ, start_response)

    server = ThreadedWSGIServer(("127.0.0.1", 0), _QuietHandler, connections_override=None)
    server.set_app(counted)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}", asked
    server.shutdown()
    server.server_close()
    thread.join()


def _source(name):
    return Path(finders.find(name)).read_text()


def _addresses(html, ending):
    return [part.split('"')[0] for part in html.split('"/static/')[1:] if part.split('"')[0].endswith(ending)]


def test_a_page_links_three_style_sheets_and_one_script_by_hash(collected):
    html = Client().get(reverse("login")).content.decode()
    styles, scripts = _addresses(html, ".css"), _addresses(html, ".js")
    assert [name.split(".")[0] for name in styles] == ["registry/css/base", "registry/css/parts", "registry/css/print"]
    assert [name.split(".")[0] for name in scripts] == ["registry/js/page"]
    assert all(len(name.split(".")[1]) == 12 for name in [*styles, *scripts])


def test_a_named_file_is_compressed_and_never_asked_for_again(collected):
    html = Client().get(reverse("login")).content.decode()
    for name in [*_addresses(html, ".css"), *_addresses(html, ".js")]:
        response = Client().get(f"/static/{name}", headers={"accept-encoding": "gzip"})
        assert response.headers["Content-Encoding"] == "gzip"
        assert "immutable" in response.headers["Cache-Control"] and "max-age=315360000" in response.headers["Cache-Control"]


def test_a_collected_style_sheet_holds_its_parts_in_their_order(collected):
    for name, parts in (("registry/css/base.css", 3), ("registry/css/parts.css", 9), ("plantings/css/pages.css", 6)):
        source = _source(name)
        text = (collected / name).read_text()
        imported = [line.split('"')[1] for line in source.splitlines() if line.startswith("@import")]
        assert len(imported) >= parts and "@import" not in text
        folder = name.rpartition("/")[0]
        places = [text.index(_source(f"{folder}/{part}")) for part in imported]
        assert places == sorted(places)


def test_every_part_of_a_style_sheet_is_imported_by_one():
    for app in ("registry", "plantings"):
        folder = PROJECT / app / "static" / app / "css"
        imported = "".join(path.read_text() for path in folder.glob("*.css"))
        parts = [path.relative_to(folder).as_posix() for path in folder.rglob("*.css") if path.parent != folder]
        assert parts and all(imported.count(f'@import url("{part}");') == 1 for part in parts)


def test_every_static_file_a_template_names_is_there_and_joined():
    templates = [path for app in ("registry", "plantings") for path in (PROJECT / app / "templates").rglob("*.html")]
    named = {name for path in templates for name in re.findall(r"{% static '([^']+)' %}", path.read_text())}
    assert len(named) > 6
    assert [name for name in named if finders.find(name) is None] == []
    # a part of a style sheet is not asked for by itself: its joined sheet is on the page already
    assert [name for name in named if name.endswith(".css") and Path(name).parent.name != "css"] == []


def test_a_second_visit_asks_for_nothing_but_the_page(browser, site):
    address, asked = site
    # without the blocking of other hosts, which would switch the browser's cache off
    context = browser.new_context()
    try:
        page = context.new_page()
        page.goto(address + reverse("login"), wait_until="networkidle")
        first = list(asked)
        page.goto(address + reverse("password_reset"), wait_until="networkidle")
        page.goto(address + reverse("login"), wait_until="networkidle")
        rules = page.evaluate("Array.from(document.styleSheets).map(sheet => sheet.cssRules.length)")
    finally:
        context.close()
    page_files = [path for path in first if "/img/" not in path]  # a browser without a window has no place for the icon
    assert len(page_files) == 5 and len(rules) == 3 and all(rules)
    assert asked[len(first) :] == [reverse("password_reset"), reverse("login")]
