"""`verify` sees links, shipments, pools, bulk lots, plots and rounds that were changed or put in past the program."""

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import F
from django.utils import timezone

from plantings.models import CensusRound, CountedPlot, RoundLink
from plantings.services.census.round_links import round_link_make
from plantings.services.trees import counted_plot_add
from registry.models import AccessToken, LotComponent, PollenPool, PollenPoolMember, PrivateLink, ReceiptLine, Shipment, ShipmentLine
from registry.selectors.audit.record_states import STATED
from registry.selectors.audit.verify import verify_book
from registry.services.audit.taking_over import take_over
from registry.services.land.links import link_make, link_revoke
from registry.services.lots.ledger import lot_bulk, lot_unbulk
from registry.services.movements.shipments import shipment_line_remove, shipment_line_set
from registry.services.orchard.pools import pool_members_set
from registry.services.people.tokens import token_issue
from registry.services.shared.records import record_save
from tests import factories

pytestmark = pytest.mark.django_db
OUTSIDE = "outside the program"


def faults():
    return [fault for check in verify_book() for fault in check.faults]


@pytest.fixture
def lead():
    return factories.person("lead", username="anna")


def put_in(record):
    """A row put in by somebody who has the database: the program does not know of it."""
    names = [field.attname for field in record._meta.concrete_fields]
    quote = connection.ops.quote_name
    into = f"{quote(record._meta.db_table)} ({', '.join(quote(name) for name in names)})"
    values = [field.get_db_prep_save(getattr(record, field.attname), connection) for field in record._meta.concrete_fields]
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO {into} VALUES ({', '.join(['%s'] * len(names))})", values)


def test_a_token_put_in_is_named(lead):
    _token, _secret = token_issue(actor=lead, person=lead, purpose="a script", ends_on=timezone.localdate())
    assert faults() == []
    put_in(
        AccessToken(
            pk=9_000,
            entered_by=lead,
            entered_at=timezone.now(),
            person=lead,
            purpose="x",
            token_sha256="0" * 64,
            ends_on=timezone.localdate(),
        )
    )
    [fault] = faults()
    assert fault.startswith("token of ") and f"It was added {OUTSIDE}" in fault


def test_links_put_in_or_made_longer_are_named(lead):
    land, _token = link_make(actor=lead, person=factories.person("landowner", partner=factories.partner()))
    crew, _token = round_link_make(
        actor=lead, census_round=factories.census_round(factories.planting()), for_whom="the school", ends_on=timezone.localdate()
    )
    assert faults() == []
    later = timezone.localdate() + timezone.timedelta(days=900)
    for model, link in ((PrivateLink, land), (RoundLink, crew)):
        model.objects.filter(pk=link.pk).update(ends_on=later)
    assert sum(f"ends on is {later.isoformat()}, in the audit trail" in fault for fault in faults()) == 2
    for model, link in ((PrivateLink, land), (RoundLink, crew)):
        model.objects.filter(pk=link.pk).update(ends_on=link.ends_on)
    assert faults() == []
    for link in (land, crew):
        link.pk, link.token_sha256 = 9_000, "0" * 64
        put_in(link)
    assert sum(f"It was added {OUTSIDE}" in fault for fault in faults()) == 2


def test_links_that_were_revoked_are_in_the_trail(lead):
    land, _token = link_make(actor=lead, person=factories.person("landowner", partner=factories.partner()))
    crew, _token = round_link_make(
        actor=lead, census_round=factories.census_round(factories.planting()), for_whom="a", ends_on=timezone.localdate()
    )
    link_revoke(actor=lead, link=land)
    link_revoke(actor=lead, link=crew)
    assert faults() == []
    RoundLink.objects.filter(pk=crew.pk).update(revoked_at=None)
    [fault] = faults()
    assert "revoked at is blank, in the audit trail" in fault


def test_lines_of_shipments_and_receipts_changed_in_the_database_are_named(lead):
    lot = factories.stock_lot(actor=lead, plants=40)
    sent = factories.shipment(
        actor=lead, receiver=factories.partner(), lots=[(lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 2),
    )  # fmt: skip
    assert faults() == []
    ShipmentLine.objects.update(quantity=F("quantity") + 1)
    ReceiptLine.objects.update(sound=F("sound") + 1)
    Shipment.objects.update(dispatched_on=factories.day(2019, 3, 1))
    found = faults()
    assert [fault for fault in found if fault.startswith(f"shipment {sent}: dispatched on is 2019-03-01")] != []
    assert sum("at least one has another lot, form or number than in the audit trail" in fault for fault in found) == 1
    assert sum("at least one has another line or number than in the audit trail" in fault for fault in found) == 1


def test_a_line_taken_from_a_draft_is_in_the_trail(lead):
    lots = [factories.stock_lot(actor=lead, plants=40) for _ in range(2)]
    draft = factories.shipment(actor=lead, receiver=factories.partner(), lots=[(lot, "bareroot", 5) for lot in lots])
    shipment_line_remove(actor=lead, line=draft.lines.first())
    assert faults() == []
    shipment_line_remove(actor=lead, line=draft.lines.get())
    shipment_line_set(actor=lead, shipment=draft, lot=lots[0], form="bareroot", quantity=3)
    assert faults() == []
    ShipmentLine.objects.all().delete()
    [fault] = faults()
    assert fault.endswith("it was removed")


def test_members_of_pools_and_parts_of_bulk_lots_are_held(lead):
    pool = record_save(actor=lead, obj=PollenPool(code="PP", orchard="O", flowering_year=2019))
    trees = [factories.pedigree_tree() for _ in range(2)]
    for tree in trees:
        pool_members_set(actor=lead, pool=pool, weights={}, removed=(), added=(tree, None), reason="stood there")
    pool_members_set(actor=lead, pool=pool, weights={}, removed=[trees[0].pk], added=None, reason="did not flower")
    seed, more = (factories.seed_lot(actor=lead, seeds=400) for _ in range(2))
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    lot_bulk(actor=lead, bulk=bulk, component=seed, count=5, on=factories.day(2019))
    part = lot_bulk(actor=lead, bulk=bulk, component=more, count=5, on=factories.day(2019))
    lot_unbulk(actor=lead, part=part, reason="a mistake")
    assert faults() == []
    PollenPoolMember.objects.update(tree=factories.pedigree_tree())
    LotComponent.objects.update(count=9)
    found = faults()
    assert any("at least one has another tree or weight than in the audit trail" in fault for fault in found)
    assert any("at least one has another lot, count or day than in the audit trail" in fault for fault in found)


def test_a_counted_plot_and_the_age_of_a_round_are_held(lead):
    planting = factories.planting()
    lot = factories.stock_lot(actor=lead, plants=40)
    for code in ("D1", "D2"):
        counted_plot_add(actor=lead, planting=planting, code=code, lot=lot, planted_count=10)
    census_round = factories.census_round(planting)
    census_round.label = "stored by the program"
    record_save(actor=lead, obj=census_round)
    assert faults() == []
    CountedPlot.objects.filter(code="D1").update(planted_count=99)
    CensusRound.objects.filter(pk=census_round.pk).update(growing_seasons=F("growing_seasons") + 1)
    found = faults()
    plots = f"counted plots of planting {planting}: at least one has another lot, role, code or number planted than in the audit trail"
    assert f"{plots}. It was changed {OUTSIDE}" in found
    assert any("growing seasons is " in fault for fault in found)


@pytest.mark.parametrize("pk", [-4, 0])
def test_a_plain_record_with_a_number_that_is_never_given_is_named(lead, pk):
    lot = factories.seed_lot(actor=lead, seeds=10)
    lot.pk, lot.code = pk, "FORGED"
    put_in(lot)
    assert f"lot FORGED: the audit trail does not know it. It was added {OUTSIDE}" in faults()


def test_what_an_older_version_stored_is_taken_over(lead):
    Shipment.objects.create(code="SH-OLD", receiver=factories.partner())
    take_over(apps, app="registry", stated=[("shipment", STATED[Shipment].names, "")])
    [check] = [check for check in verify_book() if check.title.startswith("Accounts")]
    assert (check.faults, "not in the audit trail" in check.looked_at) == ([], False)
    Shipment.objects.update(site_code="S-2")
    assert any("site code is S-2, in the audit trail blank" in fault for fault in faults())
