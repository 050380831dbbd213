"""A lot with ledger entries of its own load: the entries are reversed, and the lot stays, closed, with nothing on hand."""

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from plantings.imports.combined.loading import combined_load
from plantings.imports.loading import sheet_load
from plantings.imports.withdrawing import load_take_back
from registry.imports.sheets.plan import SheetRefused
from registry.models import AuditEntry, LedgerEntry, Lot, Partner, Taxon
from registry.selectors.audit.verify import verify_book
from registry.selectors.loads.staying import withdrawn_load_of
from registry.services.lots.ledger import ledger_enter, ledger_reverse, lot_reopen
from tests import factories

pytestmark = pytest.mark.django_db

SHEET = b"Lot,Got,Number\nL-1,400,1\nL-2,,\n"
_ENTRY = {"lot": "Lot", "reference": "Number", "on": {"constant": "2019-05-01"}}
PARTS = {
    "taxon": {"columns": {"name": {"constant": "Juglans cinerea"}, "role": {"constant": "native"}}},
    "partner": {"columns": {"code": {"constant": "PT-1"}, "name": {"constant": "Owner"}, "partner_kind": {"constant": "trust"}}},
    "lot": {
        "columns": {
            "code": "Lot", "lot_kind": {"constant": "seed"}, "taxon": {"constant": "Juglans cinerea"}, "origin": {"constant": "outside"},
            "outside_origin": {"constant": "as in the sheet"},
        }
    },
    "ledger": {
        "columns": _ENTRY | {"entry": {"constant": "acquired"}, "quantity": "Got"}, "rows": [{"column": "Got", "blank": False}],
    },
}  # fmt: skip


@pytest.fixture
def lead():
    return factories.person("lead")


def load(lead):
    return combined_load(actor=lead, content=SHEET, filename="lots.csv", spec={"parts": PARTS}).load


def withdraw(lead, found):
    return load_take_back(actor=lead, load=found, reason="the wrong file")


def test_its_entries_are_reversed_and_the_lot_is_closed(lead):
    found = load(lead)
    withdraw(lead, found)
    lot = Lot.objects.get()  # L-2 had no entry, so it leaves
    assert (lot.code, lot.balance, lot.closed_on is not None) == ("L-1", 0, True)
    assert list(LedgerEntry.objects.order_by("pk").values_list("quantity", flat=True)) == [400, -400]  # 400 came, 400 taken back
    closed = AuditEntry.objects.get(verb="lot.closed")
    assert closed.reason == f"load {found.pk} withdrawn: the wrong file"
    # its taxon stays with it, or it would be an orphan; the partner leaves
    assert Taxon.objects.get() == lot.taxon and not Partner.objects.exists()
    assert withdrawn_load_of(lot) == found.pk
    assert [fault for check in verify_book() for fault in check.faults] == []


def test_its_page_and_that_of_the_load_say_why_it_stays(lead, client):
    found = load(lead)
    lot = Lot.objects.get(code="L-1")
    client.force_login(lead)
    words = f"Load {found.pk}, which brought this lot, was withdrawn."
    assert words not in client.get(reverse("lot_detail", args=[lot.pk])).content.decode()
    withdraw(lead, found)
    assert words in client.get(reverse("lot_detail", args=[lot.pk])).content.decode()
    page = client.get(reverse("load_detail", args=[found.pk])).content.decode()
    assert "What stays, with nothing on hand" in page and reverse("lot_detail", args=[lot.pk]) in page


def test_an_entry_from_elsewhere_keeps_the_load(lead):
    found = load(lead)
    lot = Lot.objects.get(code="L-1")
    later = ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=5, on=factories.day(2019, 6))
    with pytest.raises(ValidationError, match="a record of the kind “ledger entry” rests on it"):
        withdraw(lead, found)
    ledger_reverse(actor=lead, entry=later, reason="never discarded")
    withdraw(lead, found)
    lot.refresh_from_db()
    assert lot.balance == 0 and lot.closed_on


def test_an_entry_reversed_by_hand_does_not_keep_it(lead):
    found = load(lead)
    ledger_reverse(actor=lead, entry=LedgerEntry.objects.get(), reason="counted twice")
    withdraw(lead, found)
    assert LedgerEntry.objects.count() == 2 and Lot.objects.get().closed_on


def test_an_entry_number_that_was_withdrawn_is_refused_with_what_to_do(lead):
    """Nothing was stored for such a row, and the load was reported as a success."""
    withdraw(lead, load(lead))
    head = 'Lot,Entry number,Entry,"Quantity (seeds or plants, without sign)",Date\n'

    def ledger(number):
        content = f"{head}L-1,{number},acquired,400,2019-05-01\n".encode()
        return sheet_load(actor=lead, kind="ledger", content=content, filename="ledger.csv")

    with pytest.raises(SheetRefused) as refused:
        ledger(1)
    [problem] = refused.value.plan.problems
    assert str(problem) == (
        "row 2, column 'Entry number': '1' is the number of an entry that was reversed when its load was withdrawn, and a number is never "
        "used twice. Give this row a new number, such as 1-2. The lot was closed then: open it again on its page first."
    )
    with pytest.raises(SheetRefused, match="was reversed when its load was withdrawn"):
        load(lead)  # the same file with all its parts
    lot_reopen(actor=lead, lot=Lot.objects.get(), reason="the right file came")
    with pytest.raises(SheetRefused, match="Give this row a new number, such as 1-2.$"):
        ledger(1)
    assert LedgerEntry.objects.count() == 2
    ledger("1-2")
    assert Lot.objects.get().balance == 400
