"""The command that withdraws a load says first what it would take back, and calls the service of the page."""

import io

import pytest
from django.core.management import CommandError, call_command

from plantings.imports.loading import sheet_load
from registry.models import LoadWithdrawal, Lot, Taxon
from registry.services.lots.ledger import ledger_enter
from tests import factories
from tests.plantings.loads.test_withdrawn_lots import load as lots_with_ledger

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return factories.person("lead")


def taxa(lead):
    content = b"Binomial,Role here\nJuglans a,native\nJuglans b,native\n"
    return sheet_load(actor=lead, kind="taxon", content=content, filename="taxa.csv").load


def withdraw(number, **options):
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("withdraw_load", str(number), stdout=out, stderr=err, **options)
    except CommandError as error:
        return out.getvalue(), f"{err.getvalue()}{error}"
    return out.getvalue(), err.getvalue()


def test_a_dry_run_says_what_would_go_and_takes_nothing_back(lead):
    found = taxa(lead)
    said, _faults = withdraw(found.pk, dry_run=True)
    assert f"Load {found.pk} of taxa.csv" in said and "taxa: 2\n" in said and "Nothing was taken back yet." in said
    assert Taxon.objects.count() == 2 and not LoadWithdrawal.objects.exists()


def test_with_a_reason_the_load_is_withdrawn(lead):
    found = taxa(lead)
    assert "--reason" in withdraw(found.pk)[1] and Taxon.objects.count() == 2
    said, _faults = withdraw(found.pk, reason="the wrong list")
    assert said.endswith(f"Load {found.pk} is withdrawn.\n") and not Taxon.objects.exists()
    withdrawal = LoadWithdrawal.objects.get()
    assert (withdrawal.reason, withdrawal.entered_by) == ("the wrong list", lead)
    assert "already withdrawn" in withdraw(found.pk, reason="again")[1]


def test_it_names_the_lots_that_stay_and_what_rests_on_them(lead):
    found = lots_with_ledger(lead)
    said = withdraw(found.pk, dry_run=True)[0]
    assert "lots: 2 (1 on file afterwards, since what was entered about them is never deleted)" in said and "ledger entries: 1" in said
    ledger_enter(actor=lead, lot=Lot.objects.get(code="L-1"), kind="discarded", quantity=5, on=factories.day(2019, 6))
    faults = withdraw(found.pk, reason="the wrong file")[1]
    assert "a record of the kind “ledger entry” rests on it" in faults and "cannot be withdrawn" in faults
    assert not LoadWithdrawal.objects.exists()


def test_who_may_not_load_its_kind_may_not_withdraw_it(lead):
    found = taxa(lead)
    volunteer = factories.person("volunteer")
    faults = withdraw(found.pk, reason="mine", person=volunteer.username)[1]
    assert f"may not withdraw load {found.pk}" in faults and Taxon.objects.count() == 2
    assert "No load has the number 99" in withdraw(99, reason="none such")[1]
