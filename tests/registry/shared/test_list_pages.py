"""Every page of the registry opens for the roles that may open it, and for nobody else."""

import pkgutil
from importlib import import_module

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from registry import routes
from registry.access import roles
from registry.models import PollenPool
from registry.services.lots.ledger import lot_bulk
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db


def a_book(receiver):
    """One record of each type, and a draft beside a received shipment; {route: arguments}."""
    actor, other = factories.person(), factories.person("manager")
    mother = factories.pedigree_tree(code="MB-1", backcrosses=3, intercrosses=1, source_of_resistance="Heron")
    factories.pedigree_tree(code="MB-2", mother=mother)
    pool = PollenPool.objects.create(code="POOL-1", orchard="A", flowering_year=2018)
    lot = factories.seed_lot(actor=actor, seeds=100, mother=mother, pollen_pool=pool)
    bulk = factories.stock_lot(kind="seed", origin="bulk", outside_origin="")
    lot_bulk(actor=actor, bulk=bulk, component=lot, count=10, on=factories.day(2019))
    stock = factories.stock_lot(actor=actor, plants=50)
    paper = factories.authorization()
    sent = factories.shipment(
        actor=actor,
        receiver=receiver,
        lots=[(stock, "bareroot", 20)],
        dispatched_on=factories.day(2019, 4),
        received_on=factories.day(2019, 4, 3),
    )
    sent.authorizations.add(paper)
    draft = factories.shipment(actor=actor, receiver=receiver, lots=[(stock, "bareroot", 5)])
    return {
        "lot_list": (), "lot_add": (), "lot_detail": (lot.pk,), "lot_edit": (lot.pk,), "lot_bulk": (bulk.pk,),
        "ledger_list": (), "ledger_add": (lot.pk,), "ledger_reverse": (lot.ledger.get(kind="harvested").pk,),
        "taxon_list": (), "taxon_add": (), "taxon_detail": (lot.taxon_id,), "taxon_edit": (lot.taxon_id,),
        "pollenpool_list": (), "pollenpool_add": (), "pollenpool_detail": (pool.pk,), "pollenpool_edit": (pool.pk,),
        "pedigreetree_list": (), "pedigreetree_add": (), "pedigreetree_detail": (mother.pk,), "pedigreetree_edit": (mother.pk,),
        "pedigreetree_status": (mother.pk,),
        "partner_list": (), "partner_add": (), "partner_detail": (receiver.pk,), "partner_edit": (receiver.pk,),
        "shipment_list": (), "shipment_add": (), "shipment_detail": (sent.pk,), "shipment_edit": (draft.pk,),
        "shipment_line_add": (draft.pk,), "shipment_line_remove": (draft.lines.get().pk,), "shipment_dispatch": (draft.pk,),
        "shipment_cancel": (draft.pk,), "shipment_packing": (sent.pk,),
        "receipt_add": (sent.pk,), "receipt_list": (), "receipt_detail": (sent.receipts.get().pk,),
        "authorization_list": (), "authorization_add": (), "authorization_detail": (paper.pk,), "authorization_edit": (paper.pk,),
        "person_list": (), "person_add": (), "person_detail": (other.pk,), "person_edit": (other.pk,), "person_link": (other.pk,),
        "audit_list": (),
    }  # fmt: skip


READ = {"lead", "coordinator", "manager", "auditor"}
OFFICE = {"lead", "coordinator", "manager"}
STAFF = {"lead", "coordinator"}
OPENS = {
    **dict.fromkeys(("lot_list", "lot_detail", "ledger_list", "taxon_list", "taxon_detail", "pollenpool_list", "pollenpool_detail"), READ),
    **dict.fromkeys(("pedigreetree_list", "pedigreetree_detail", "authorization_list", "authorization_detail"), READ),
    **dict.fromkeys(("lot_add", "lot_edit", "lot_bulk", "ledger_add", "ledger_reverse", "taxon_add", "taxon_edit"), OFFICE),
    **dict.fromkeys(("pollenpool_add", "pollenpool_edit", "pedigreetree_add", "pedigreetree_edit", "pedigreetree_status"), OFFICE),
    **dict.fromkeys(("shipment_add", "shipment_edit", "shipment_line_add", "shipment_line_remove", "shipment_cancel"), OFFICE),
    **dict.fromkeys(("partner_add", "partner_edit", "shipment_dispatch", "authorization_add", "authorization_edit"), STAFF),
    **dict.fromkeys(("person_list", "person_add", "person_detail", "person_edit", "person_link"), STAFF),
    **dict.fromkeys(("shipment_list", "shipment_detail", "shipment_packing", "receipt_list", "receipt_detail"), READ | {"landowner"}),
    **dict.fromkeys(("partner_list", "partner_detail"), READ | {"landowner"}),
    "receipt_add": STAFF | {"landowner"},
    "audit_list": STAFF | {"auditor"},
}


def test_every_page_opens_for_its_roles_and_for_no_other(client):
    people = everyone()
    book = a_book(people["landowner"].partner)
    assert set(book) == set(OPENS)
    wrong = []
    for name, person in people.items():
        client.force_login(person)
        for route, arguments in book.items():
            status = client.get(reverse(route, args=arguments)).status_code
            if name == "other landowner" and arguments and "landowner" in OPENS[route]:
                expected = 404
            else:
                expected = 200 if person.role in OPENS[route] else 403
            if status != expected:
                wrong.append((name, route, status, expected))
    assert wrong == []


def test_a_visitor_is_sent_to_sign_in(client):
    book = a_book(factories.partner())
    for route, arguments in book.items():
        address = reverse(route, args=arguments)
        assert client.get(address)["Location"].startswith(reverse("login")), route


def test_each_action_of_the_pages_is_in_the_permission_table():
    modules = [import_module(f"registry.routes.{module.name}") for module in pkgutil.iter_modules(routes.__path__)]
    patterns = [pattern for module in modules for pattern in module.urlpatterns]
    assert patterns
    for pattern in patterns:
        if pattern.name != "decision_by_link":  # whoever holds the link has no account
            assert pattern.callback.view_class.action in roles.ACTIONS, pattern.name


LISTS = (
    "lot_list", "ledger_list", "taxon_list", "pollenpool_list", "pedigreetree_list", "partner_list", "shipment_list", "receipt_list",
    "authorization_list", "person_list", "audit_list",
)  # fmt: skip


def a_row_of_everything(actor):
    mother = factories.pedigree_tree(mother=factories.pedigree_tree())
    PollenPool.objects.create(code=f"POOL-{factories.number()}", orchard="A", flowering_year=2018)
    lot = factories.seed_lot(actor=actor, seeds=50, mother=mother)
    factories.stock_lot(origin="sown", parent=lot, outside_origin="")
    factories.authorization()
    factories.person("landowner")
    factories.shipment(actor=actor, lots=[(lot, "seed", 5)], dispatched_on=factories.day(2019), received_on=factories.day(2019, 10, 3))


def listed(client):
    """{list: (its queries, its rows)}."""
    found = {}
    for route in LISTS:
        with CaptureQueriesContext(connection) as captured:
            page = client.get(reverse(route))
        found[route] = len(captured), len(page.context["rows"])
    return found


def test_a_list_costs_the_same_queries_for_one_row_and_for_twelve(client):
    actor = factories.person("lead")
    client.force_login(actor)
    a_row_of_everything(actor)
    few = listed(client)
    for _ in range(11):
        a_row_of_everything(actor)
    many = listed(client)
    assert {route: queries for route, (queries, _rows) in many.items()} == {route: queries for route, (queries, _rows) in few.items()}
    assert all(many[route][1] >= few[route][1] + 11 for route in LISTS)
