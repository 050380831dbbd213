"""Shared by all tests: the database of the tests, settings that must not touch real files, and the browser.

Browser tests ask for `page`; they get the markers `browser` and `one_database` by that. Every request to another host is
blocked and fails the test; `sign_in(person)` signs the page in.
"""

import gc
import os
import re

import django.test
import hypothesis
import pytest

from tests.browser.chromium import chromium
from tests.prove import WITHOUT_DATABASE

# no test is timed: a busy machine must not make a property fail
hypothesis.settings.register_profile("mastbook", deadline=None)
hypothesis.settings.load_profile("mastbook")
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")  # Playwright's loop runs in the test thread


# The longest files. They come first, so that no worker is left alone with one at the end.
LONGEST = (
    "tests/project/test_every_page.py",
    "tests/project/test_migrations.py",
    "tests/project/test_sign_in_names.py",
    "tests/browser/test_demo_spine.py",
    "tests/browser/test_phone_census.py",
    "tests/plantings/demo/",
)


def pytest_collection_modifyitems(items):
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))
    for item in items:
        drives_a_browser = "browser" in getattr(item, "fixturenames", ())
        if drives_a_browser:
            item.add_marker(pytest.mark.browser)
        if drives_a_browser or not asks_the_database(item):  # what a browser adds to a page is the same on both databases
            item.add_marker(pytest.mark.one_database)
    if left_out := left_out_on_postgresql(items):
        raise pytest.UsageError(
            f"{left_out[0]} asks the database. On PostgreSQL nobody would run it in this folder. Move its file to another."
        )


def left_out_on_postgresql(items):
    """The tests that both databases need, in folders that are not read on PostgreSQL."""
    unread = tuple(f"{folder}/" for folder in WITHOUT_DATABASE)
    return [item.nodeid for item in items if item.nodeid.startswith(unread) and not item.get_closest_marker("one_database")]


def pytest_collection_finish():
    """What is loaded now lasts to the end, so the garbage collector need not look through thousands of tests and modules again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 10, 10)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    from tests.workers import ByFile

    return ByFile(config, log)


def asks_the_database(item):
    """Whether a test may use the database of the tests. pytest-django refuses every query of the others."""
    fixtures = {"django_db_setup", "live_server"} & set(getattr(item, "fixturenames", ()))
    case = getattr(item, "cls", None)
    return bool(fixtures or item.get_closest_marker("django_db") or (case and issubclass(case, django.test.SimpleTestCase)))


def pytest_fixture_setup(fixturedef, request):
    if fixturedef.argname in {"db", "transactional_db"} and not asks_the_database(request._pyfuncitem):
        try:
            pytest.fail("This test would run on SQLite alone. Mark it django_db, so that it runs on PostgreSQL too.", pytrace=False)
        except pytest.fail.Exception as refused:
            # as pytest notes a fixture that failed; otherwise it could not set it up for the next test
            fixturedef.cached_result = (None, fixturedef.cache_key(request), (refused, refused.__traceback__))
            raise


@pytest.fixture(autouse=True)
def _no_database_for_children(request, monkeypatch):
    """A program started by a test that runs on one database alone finds none by DATABASE_URL."""
    if not asks_the_database(request.node):
        monkeypatch.setenv("DATABASE_URL", "postgresql://127.0.0.1:1/mark_this_test_django_db")


@pytest.fixture(autouse=True, scope="session")
def _flush_append_only_tables():
    """Transactional tests empty every table; the triggers that refuse DELETE have to stand aside for that."""
    from django.db import connection
    from django.db.backends.base.operations import BaseDatabaseOperations

    from registry.models.append_only import protect_statements, unprotect_statements
    from registry.selectors.audit.record_hashes import append_only_models

    tables = [model._meta.db_table for model in append_only_models()]
    original = BaseDatabaseOperations.execute_sql_flush

    def flush(self, sql_list):
        before = [sql for table in tables for sql in unprotect_statements(table, connection.vendor)]
        after = [sql for table in tables for sql in protect_statements(table, connection.vendor)]
        original(self, [*before, *sql_list, *after])

    BaseDatabaseOperations.execute_sql_flush = flush
    yield
    BaseDatabaseOperations.execute_sql_flush = original


@pytest.fixture(autouse=True, scope="session")
def _every_write_checked():
    """A write of which no audit entry ends the figures that its rows are in fails the test."""
    from tests.declared_concerns import every_write_checked

    with every_write_checked() as read_statements:
        yield read_statements


@pytest.fixture(autouse=True)
def _statements_read(_every_write_checked):
    _every_write_checked()


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory, django_db_modify_db_settings_parallel_suffix):
    """On SQLite the tests use a file, as the site does.

    In memory all threads of the live server would share one connection, and so one transaction.
    """
    from django.db import connection

    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("database") / "test.sqlite3")


@pytest.fixture(scope="session")
def _tables_from_models(django_db_modify_db_settings):
    from django.test import override_settings

    from tests.schema import WithoutMigrations

    override = override_settings(MIGRATION_MODULES=WithoutMigrations())
    override.enable()
    return override


@pytest.fixture(scope="session")
def django_db_setup(_tables_from_models, django_db_setup, django_db_blocker):
    from tests.schema import complete_schema

    _tables_from_models.disable()
    with django_db_blocker.unblock():
        complete_schema()


@pytest.fixture(autouse=True, scope="module")
def _rows_taken_back_are_gone(django_db_blocker):
    """PostgreSQL keeps rows that a test took back until a vacuum, and reads past them. At the end of each file they go."""
    yield
    from django.db import connection

    if connection.vendor != "postgresql" or connection.connection is None or connection.in_atomic_block:
        return
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute("SELECT relname FROM pg_stat_user_tables WHERE n_dead_tup > 200")
        if tables := [name for (name,) in cursor.fetchall()]:
            cursor.execute(f"VACUUM {', '.join(tables)}")


@pytest.fixture(autouse=True, scope="session")
def _settings_of_tests(tmp_path_factory):
    """Uploads go to a temporary folder, passwords cost no time, static files are found when asked for."""
    from django.test import override_settings

    with override_settings(
        DATA_DIR=tmp_path_factory.mktemp("data"),
        MEDIA_ROOT=tmp_path_factory.mktemp("files"),
        STATIC_ROOT=tmp_path_factory.mktemp("static"),  # nothing collected: pages name the files of the packages
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        WHITENOISE_AUTOREFRESH=True,  # otherwise every test client lists all static files first
    ):
        yield


@pytest.fixture(scope="session")
def browser():
    """One headless Chromium for all browser tests."""
    with chromium() as started:
        yield started


@pytest.fixture
def outside_requests():
    """URLs the pages of this test asked of other hosts. Must be empty at the end; a test that expects one clears it."""
    return []


@pytest.fixture
def page_complaints():
    """What the browser complained about: script errors, refusals by the security policy, failed requests."""
    return []


@pytest.fixture
def new_context(browser, live_server, outside_requests, page_complaints):
    """`new_context(**options)`: a browser context of its own cookies and storage, like one more phone."""
    contexts = []
    outside = re.compile(rf"^(?!{re.escape(live_server.url)}(/|$)|data:|blob:|about:)")

    def refuse(route):
        outside_requests.append(route.request.url)
        route.abort()

    def listen(page):
        page.on("pageerror", lambda error: page_complaints.append(str(error)))
        page.on("console", lambda message: page_complaints.append(message.text) if message.type == "error" else None)

    def make(**options):
        context = browser.new_context(**({"base_url": live_server.url} | options))
        context.set_default_timeout(60_000)  # on a busy machine; nothing waits longer than it must
        context.route(outside, refuse)
        context.on("page", listen)
        contexts.append(context)
        return context

    yield make
    for context in contexts:
        context.close()
    assert outside_requests == [], "A page asked another host for something."


@pytest.fixture
def page(new_context):
    """A page on the live server: `page.goto("/")` works with paths of the site."""
    return new_context().new_page()


@pytest.fixture
def sign_in(request, live_server):
    """`sign_in(person, context=None)`: sign somebody in, in `page` or in another context, without the form."""
    from django.conf import settings
    from django.test import Client

    def enter(person, context=None):
        client = Client()
        client.force_login(person)
        context = context or request.getfixturevalue("page").context
        cookie = client.cookies[settings.SESSION_COOKIE_NAME]
        context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])

    return enter


@pytest.fixture
def marked(monkeypatch):
    """Every text that goes through translation comes back as [text]. At the end each of them must have a translation into French."""
    from django.utils import translation

    from tests.french import french_texts

    met = set()

    def bracketed(listed, words):
        met.add(listed)
        return f"[{words}]" if words else ""

    monkeypatch.setattr(translation._trans, "gettext", lambda words: bracketed(words, words), raising=False)
    monkeypatch.setattr(translation._trans, "pgettext", lambda _context, words: bracketed(words, words), raising=False)
    monkeypatch.setattr(
        translation._trans, "ngettext", lambda one, many, number: bracketed(one, one if number == 1 else many), raising=False
    )
    yield
    assert met - french_texts() - {""} == set(), "has no translation into French"
