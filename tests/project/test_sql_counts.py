"""The number of queries of every list page: kept here, changed only on purpose, the same for one row and for many."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry.models import PollenPool
from registry.services.ledger import ledger_enter
from tests import factories

pytestmark = pytest.mark.django_db

# Queries of a page as a lead sees it: session, person, count and rows; Survival has its filters and lineages besides.
QUERIES = {
    "lot_list": 4, "ledger_list": 4, "taxon_list": 4, "pollenpool_list": 4, "pedigreetree_list": 4, "partner_list": 4, "shipment_list": 4,
    "receipt_list": 4, "authorization_list": 4, "person_list": 4, "audit_list": 4, "site_list": 4, "planting_list": 4, "tree_list": 4,
    "round_list": 4, "survival": 12, "sheet_list": 3,
}  # fmt: skip


def one_more_of_everything(actor):
    lot = factories.seed_lot(
        actor=actor, seeds=50, mother=factories.pedigree_tree(mother=factories.pedigree_tree(), father=factories.pedigree_tree())
    )
    stock = factories.stock_lot(actor=actor, plants=50)
    ledger_enter(actor=actor, lot=lot, kind="sampled", quantity=1, on=factories.day(2019))
    PollenPool.objects.create(code=f"PP{factories.number()}", orchard="O", flowering_year=2019)
    owner = factories.partner()
    factories.shipment(
        actor=actor,
        receiver=owner,
        lots=[(stock, "bareroot", 5)],
        dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 2),
    )
    factories.authorization()
    planting = factories.planting(site=factories.site(partner=owner))
    trees = factories.trees(planting, stock, 3, actor=actor)
    factories.observe(factories.census_round(planting), {trees[0]: "A", trees[1]: "D"}, actor=actor)
    factories.person("volunteer")


def queries(client, name):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(reverse(name)).status_code == 200
    return len(captured)


def test_a_list_page_asks_the_same_number_of_queries_for_one_row_and_for_many(client):
    lead = factories.person("lead")
    client.force_login(lead)
    one_more_of_everything(lead)
    few = {name: queries(client, name) for name in QUERIES}
    for _ in range(7):
        one_more_of_everything(lead)
    many = {name: queries(client, name) for name in QUERIES}
    assert many == few
    assert many == QUERIES
