"""While somebody loads a sheet, and when disk or database refuse: a sentence soon, and nothing typed is lost."""

import threading
import time
from contextlib import contextmanager
from itertools import count
from types import SimpleNamespace

import pytest
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import OperationalError, connection, connections, transaction
from django.urls import reverse

from plantings.imports.loading import plan_file, plan_trial, sheet_load
from registry.disk.faults import BUSY, outside_fault_words
from registry.imports.sheets import storing
from registry.imports.sheets.plan import SheetRefused
from registry.models import LedgerEntry, SheetUpload, Taxon
from registry.services.audit import busy
from registry.services.audit.busy import LOADING, Busy, loading
from registry.services.audit.write import writing
from registry.services.lots.ledger import ledger_enter
from registry.services.sheets.uploads import upload_keep
from tests import factories


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@contextmanager
def held(work):
    """Somebody else, in a thread with a connection of its own, is inside the context `work()` while the test goes on."""
    entered, leave = threading.Event(), threading.Event()

    def hold():
        try:
            with work():
                entered.set()
                leave.wait(60)
        finally:
            connections.close_all()

    thread = threading.Thread(target=hold)
    thread.start()
    try:
        assert entered.wait(20)
        yield
    finally:
        leave.set()
        thread.join()


@contextmanager
def a_sheet():
    with loading(), transaction.atomic():
        Taxon.objects.create(name="Juglans loading")
        yield
        transaction.set_rollback(True)


@pytest.fixture
def soon(monkeypatch):
    monkeypatch.setattr(busy, "SHORT_WAIT", 0.3)
    monkeypatch.setattr(busy, "LONG_WAIT", 0.3)
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout=100")
        yield
        connection.close()
    else:
        yield


SQLITE = pytest.mark.skipif("connection.vendor != 'sqlite'", reason="on PostgreSQL saves wait for shared rows only")


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_form_sent_during_a_load_keeps_what_was_typed(client, soon):
    client.force_login(factories.person("lead"))
    with held(a_sheet):  # it answers before the load ends
        page = client.post(reverse("taxon_add"), {"name": "Juglans cinerea", "role": "native"})
    text = page.content.decode()
    assert page.status_code == 200 and LOADING in text and 'value="Juglans cinerea"' in text
    assert not Taxon.objects.exists()


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_save_waits_for_a_sheet_that_ends_soon():
    actor, lot, entered, ends = factories.person("lead"), factories.seed_lot(seeds=3), threading.Event(), threading.Event()

    def load():
        with loading():
            entered.set()
            time.sleep(0.5)
            ends.set()

    thread = threading.Thread(target=load)
    thread.start()
    entered.wait(20)
    ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=1, on=factories.day(lot.year))
    assert ends.is_set()
    thread.join()
    assert LedgerEntry.objects.filter(lot=lot).count() == 2


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_second_sheet_is_refused_in_words_while_one_is_loaded(soon, tmp_path):
    factories.person("lead")
    (tmp_path / "taxon.csv").write_text("Binomial,Role\nJuglans a,native\n")
    with held(a_sheet), pytest.raises(CommandError) as refused:
        call_command("load", "taxon", str(tmp_path / "taxon.csv"))
    assert str(refused.value) == LOADING
    call_command("load", "taxon", str(tmp_path / "taxon.csv"))
    assert Taxon.objects.get().name == "Juglans a"


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_another_long_save_is_said_too(soon):
    actor, lot = factories.person("lead"), factories.seed_lot(seeds=3)
    with held(transaction.atomic), pytest.raises(Busy) as refused:
        ledger_enter(actor=actor, lot=lot, kind="harvested", quantity=1, on=factories.day(lot.year))
    assert refused.value.messages == [BUSY]


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_page_that_cannot_note_a_sign_in_says_why(client, soon):
    person = factories.person("lead")
    client.raise_request_exception = False
    with held(transaction.atomic):
        page = client.post(reverse("login"), {"username": person.username, "password": factories.PASSWORD})
    assert page.status_code == 503 and BUSY in page.content.decode() and page.headers["Retry-After"] == "60"


@pytest.mark.django_db(transaction=True)
def test_a_row_that_somebody_else_holds_is_not_waited_for_long(soon):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one lock for all rows")
    actor, lot = factories.person("lead"), factories.seed_lot(seeds=3)

    @contextmanager
    def holding():
        with transaction.atomic():
            type(lot).objects.select_for_update().get(pk=lot.pk)
            yield

    with connection.cursor() as cursor:
        cursor.execute("SHOW lock_timeout")
        assert cursor.fetchone() == ("10s",)
        cursor.execute("SET lock_timeout = '200ms'")
    with held(holding), pytest.raises(Busy) as refused, writing():
        type(lot).objects.select_for_update().get(pk=lot.pk)
    assert refused.value.messages == [BUSY] and actor.pk
    connection.close()


# -- a preview -----------------------------------------------------------------------------------------------------------------


HEADERS = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date,Reason\n'
LEDGER = HEADERS + "".join(f"{{lot}},{day},discarded,1,{{year}}-10-{day:02},counted\n" for day in range(9, 29))


def ledger_sheet(seeds):
    lot = factories.seed_lot(seeds=seeds)
    return LEDGER.format(lot=lot.code, year=lot.year).encode()


@pytest.mark.django_db
def test_a_preview_has_the_database_for_a_short_time_only(monkeypatch):
    monkeypatch.setattr(storing, "TRIAL_SECONDS", -1)
    actor, content = factories.person("lead"), ledger_sheet(seeds=3)
    sheet, _table, plan = plan_file("ledger", content, "ledger.csv", {})
    plan_trial(actor=actor, sheet=sheet, plan=plan)
    assert (plan.problems, plan.notes, LedgerEntry.objects.count()) == ([], [storing.TRIAL_NOTE], 1)
    with pytest.raises(SheetRefused) as refused:  # saving it finds what the preview could not
        sheet_load(actor=actor, kind="ledger", content=content, filename="ledger.csv")
    assert len(refused.value.plan.problems) == 17 and LedgerEntry.objects.count() == 1


@pytest.mark.django_db
def test_a_preview_ends_inside_a_service_that_takes_long(monkeypatch):
    """All trees of a planting go to one service, and one planting may have thousands."""
    actor, lot, planting = factories.person("lead"), factories.stock_lot(), factories.planting()
    content = f"Planting,Tag,Lot\n{planting.code},0001,{lot.code}\n{planting.code},0002,{lot.code}\n".encode()
    sheet, _table, plan = plan_file("tree", content, "trees.csv", {})
    monkeypatch.setattr(storing, "time", SimpleNamespace(monotonic=count().__next__))  # a second for each look at the clock
    plan_trial(actor=actor, sheet=sheet, plan=plan)
    assert (plan.problems, plan.notes, planting.entries.count()) == ([], [storing.TRIAL_NOTE], 0)


@pytest.mark.django_db
def test_rows_refused_after_a_short_preview_are_listed_on_the_page(client, monkeypatch):
    monkeypatch.setattr(storing, "TRIAL_SECONDS", -1)
    lead = factories.person("lead")
    client.force_login(lead)
    upload = upload_keep(actor=lead, kind="ledger", content=ledger_sheet(seeds=3), filename="ledger.csv")
    address = reverse("sheet_preview", args=[upload.key])
    assert storing.TRIAL_NOTE in client.get(address).content.decode()
    page = client.post(address, {"shown": "20 new"})
    text = page.content.decode()
    assert "some rows are wrong. They are listed below" in text and "17 kinds of fault" in text
    assert SheetUpload.objects.get().loaded_at is None and LedgerEntry.objects.count() == 1


@SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_preview_is_shown_while_somebody_else_loads(client, soon):
    lead = factories.person("lead")
    client.force_login(lead)
    upload = upload_keep(actor=lead, kind="taxon", content=b"Binomial,Role\nJuglans a,native\n", filename="taxon.csv")
    address = reverse("sheet_preview", args=[upload.key])
    with held(a_sheet):
        page = client.get(address)
        sent = client.post(address, {"shown": "1 new"})
    assert page.status_code == 200 and "Someone else is saving now" in page.content.decode()
    assert sent.status_code == 200 and LOADING in sent.content.decode() and not Taxon.objects.exists()


# -- what else can stop the site -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OperationalError("database is locked"), BUSY),
        (OperationalError("canceling statement due to lock timeout\nCONTEXT: ..."), BUSY),
        (OperationalError("attempt to write a readonly database"), "Mastbook may not write into its data folder or database"),
        (OperationalError("database or disk is full"), "The disk of the server is full"),
        (OperationalError("disk I/O error"), "The disk of the server does not work"),
        (OperationalError("unable to open database file"), "Mastbook cannot open its database"),
        (OperationalError("connection failed: Connection refused"), "The database does not answer"),
        (OSError(28, "No space left on device"), "The disk of the server is full. Nothing was saved."),
        (OSError(30, "Read-only file system"), "Mastbook may not write into its data folder. Nothing was saved."),
        (OperationalError("no such column: x"), ""),
        (ValidationError("wrong"), ""),
        (FileNotFoundError(2, "No such file or directory"), ""),
    ],
)
def test_outside_trouble_gets_words_and_errors_are_not_hidden(error, words):
    assert outside_fault_words(error).startswith(words) and bool(outside_fault_words(error)) == bool(words)


@pytest.mark.django_db
@pytest.mark.parametrize(("error", "status"), [(OperationalError("attempt to write a readonly database"), 503), (KeyError("x"), 500)])
def test_a_page_that_fails_says_why_where_it_can(client, monkeypatch, error, status):
    from registry.views.pedigree.taxa import TaxonFormView

    def fail(self, form):
        raise error

    monkeypatch.setattr(TaxonFormView, "perform", fail)
    client.force_login(factories.person("lead"))
    client.raise_request_exception = False
    page = client.post(reverse("taxon_add"), {"name": "Juglans cinerea", "role": "native"})
    assert page.status_code == status
    assert ("may not write into its data folder" in page.content.decode()) == (status == 503)
