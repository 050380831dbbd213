"""`verify` while somebody saves: it reads the records as they were at one moment, takes no save for a fault, and prints the head it read."""

import threading

import pytest
from django.db import connections

from registry.selectors.audit import verify as checks
from registry.selectors.audit.chain_head import chain_head
from registry.services.lots.ledger import ledger_enter
from tests import factories
from tests.registry.audit.verify_help import verify

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_save_while_verify_reads_is_not_called_a_fault(monkeypatch):
    lead = factories.person("lead")
    lot = factories.seed_lot(actor=lead, seeds=10)
    read_trail, before = checks._trail_sums, chain_head()

    def save():
        try:
            ledger_enter(actor=lead, lot=lot, kind="harvested", quantity=1, on=factories.day(lot.year))
        finally:
            connections.close_all()

    def trail_then_a_save():
        found = read_trail()
        saving = threading.Thread(target=save)
        saving.start()
        saving.join()
        return found

    monkeypatch.setattr(checks, "_trail_sums", trail_then_a_save)
    code, said, _complaint = verify()
    assert chain_head()[0] == before[0] + 1  # it was saved meanwhile
    assert (code, f"{before[0]} entries: {before[1]}" in said) == (0, True), said
    monkeypatch.undo()
    assert verify()[0] == 0
