"""Every route as every person: 200 or a redirect, 403 for a wrong action, 404 for a row outside the scope, sign-in otherwise.

The expected answer is worked out here from the tables of who may do what and who stands in which relation to the
rows, written out by hand; it is not read from the code that enforces it.
"""

import re

import pytest
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from plantings.services.census import plot_count_record
from plantings.services.trees import counted_plot_add
from registry.access import roles
from registry.models import PollenPool
from registry.services.ledger import ledger_enter
from registry.services.sheets import upload_keep
from tests import factories
from tests.people import everyone

pytestmark = pytest.mark.django_db

STAFF = {"lead", "coordinator"}
OFFICE = STAFF | {"manager"}
READERS = OFFICE | {"auditor"}
EVERYONE = READERS | {"volunteer", "landowner", "other volunteer", "other landowner"}
# volunteers and landowners see only rows of their own plantings, land and shipments
NEAR = READERS | {"volunteer", "landowner"}

# route: (whose role may do it, whose rows contain the row asked for)
ROUTES = {}


def routes(patterns=None, prefix=""):
    for pattern in patterns if patterns is not None else get_resolver().url_patterns:
        if isinstance(pattern, URLResolver):
            yield from routes(pattern.url_patterns, prefix + str(pattern.pattern))
        elif isinstance(pattern, URLPattern):
            yield pattern.name, prefix + str(pattern.pattern), pattern


PUBLIC = {"login", "logout", "password_reset", "password_reset_done", "password_reset_confirm", "password_reset_complete"}
ROUTES |= dict.fromkeys(
    ["today", "find", "help", "help_parts", "results", "map", "map_embed", "map_geojson", "map_geopackage", "map_file"], (EVERYONE, None)
)
ROUTES |= dict.fromkeys(["site_list", "planting_list", "tree_list", "round_list"], (EVERYONE, None))
ROUTES |= dict.fromkeys(
    ["trace", "lot_list", "ledger_list", "taxon_list", "pollenpool_list", "pedigreetree_list", "authorization_list"], (READERS, None)
)
ROUTES |= dict.fromkeys(
    ["taxon_detail", "pollenpool_detail", "pedigreetree_detail", "lot_detail", "authorization_detail"], (READERS, READERS)
)
ROUTES |= dict.fromkeys(["taxon_add", "pollenpool_add", "pedigreetree_add", "lot_add", "shipment_add"], (OFFICE, None))
ROUTES |= dict.fromkeys(
    ["taxon_edit", "pollenpool_edit", "pedigreetree_edit", "pedigreetree_status", "lot_edit", "lot_bulk", "ledger_add", "ledger_reverse",
     "shipment_edit", "shipment_line_add", "shipment_line_remove", "shipment_cancel"], (OFFICE, OFFICE),
)  # fmt: skip
ROUTES |= dict.fromkeys(
    [
        "partner_add",
        "authorization_add",
        "site_add",
        "planting_add",
        "round_add",
        "tree_add",
        "countedplot_add",
        "boundary_list",
        "boundary_add",
        "person_list",
        "person_add",
    ],
    (STAFF, None),
)
ROUTES |= dict.fromkeys(
    ["partner_edit", "authorization_edit", "shipment_dispatch", "leftover_add", "site_edit", "site_boundary", "planting_edit", "round_edit",
     "tree_edit", "tree_retag", "tree_replace", "observation_correct", "plotcount_correct", "person_detail", "person_edit", "person_link"], (STAFF, STAFF),
)  # fmt: skip
OWNERS = READERS | {"landowner", "other landowner"}
ROUTES |= dict.fromkeys(["shipment_list", "receipt_list", "survival", "partner_list"], (OWNERS, None))
ROUTES |= dict.fromkeys(["shipment_detail", "shipment_packing", "receipt_detail", "partner_detail"], (OWNERS, READERS | {"landowner"}))
ROUTES["receipt_add"] = (STAFF | {"landowner", "other landowner"}, STAFF | {"landowner"})
ROUTES |= dict.fromkeys(
    ["site_detail", "planting_detail", "planting_map", "tree_detail", "round_detail", "round_records"], (EVERYONE, NEAR)
)
CREW = STAFF | {"volunteer", "other volunteer"}
ROUTES |= dict.fromkeys(["census_grid", "census_next", "census_tree", "census_counts"], (CREW, STAFF | {"volunteer"}))
ROUTES["audit_list"] = (STAFF | {"auditor"}, None)
ROUTES["sheet_list"] = (OFFICE, None)
ROUTES |= dict.fromkeys(["sheet_send", "sheet_template", "sheet_export"], (OFFICE, None))  # of the kind "lot"
ROUTES |= dict.fromkeys(["sheet_preview", "sheet_columns", "sheet_problems", "sheet_original"], (OFFICE, OFFICE))


def world():
    """One of everything: the landowner owns the land, the volunteer is on the crew, nobody else is near."""
    people = everyone()
    lead = people["lead"]
    owner = people["landowner"].partner
    lot = factories.stock_lot(actor=lead, plants=40)
    sent = factories.shipment(
        actor=lead,
        receiver=owner,
        lots=[(lot, "bareroot", 10)],
        dispatched_on=factories.day(2019, 4, 1),
        received_on=factories.day(2019, 4, 2),
    )
    open_box = factories.shipment(actor=lead, receiver=owner, lots=[(lot, "bareroot", 5)], dispatched_on=factories.day(2019, 4, 3))
    draft = factories.shipment(actor=lead, receiver=owner, lots=[(lot, "bareroot", 5)])
    site = factories.site(partner=owner)
    planting = factories.planting(site=site, crew=[people["volunteer"]])
    trees = factories.trees(planting, lot, 3, actor=lead)
    census_round = factories.census_round(planting)
    factories.observe(census_round, {trees[0]: "A"}, actor=lead)
    plot = counted_plot_add(actor=lead, planting=planting, code="D1", lot=lot, planted_count=10)
    entry = ledger_enter(actor=lead, lot=lot, kind="discarded", quantity=1, on=factories.day(2019, 5))
    count = plot_count_record(actor=lead, census_round=census_round, plot=plot, alive=5, observed_on=census_round.opens_on)
    upload = upload_keep(actor=lead, kind="lot", content=b"Lot,Mother\nx,nobody\n", filename="lots.csv")
    records = {
        "lot": lot.pk, "ledger": entry.pk, "taxon": lot.taxon_id, "pollenpool": PollenPool.objects.create(code="PP", orchard="O", flowering_year=2019).pk,
        "pedigreetree": factories.pedigree_tree().pk, "partner": owner.pk, "shipment": sent.pk, "receipt": sent.receipts.get().pk,
        "authorization": factories.authorization().pk, "person": people["volunteer"].pk, "site": site.pk, "planting": planting.pk,
        "tree": trees[0].pk, "round": census_round.pk, "census": census_round.pk, "observation": trees[0].observations.get().pk, "plotcount": count.pk,
        "leftover": sent.lines.get().pk, "key": upload.key,
    }  # fmt: skip
    special = {
        "shipment_line_add": draft.pk, "shipment_line_remove": draft.lines.get().pk, "shipment_dispatch": draft.pk, "shipment_cancel": draft.pk,
        "shipment_edit": draft.pk, "receipt_add": open_box.pk, "ledger_add": lot.pk, "lot_bulk": factories.stock_lot(origin="bulk", outside_origin="").pk,
    }  # fmt: skip
    return people, records, special


def address(name, pattern, records, special):
    kwargs = {}
    for _converter, key in re.findall(r"<(?:(\w+):)?(\w+)>", pattern):
        if key == "pk":
            kwargs[key] = special.get(name) or records[name.split("_")[0]]
        elif key == "kind":
            kwargs[key] = "lot"
        elif key == "wanted":
            kwargs[key] = "csv"
        else:
            kwargs[key] = records[key]
    return reverse(name, kwargs=kwargs)


def test_every_route_is_in_the_table_and_every_view_declares_its_action():
    names = {name for name, _pattern, _view in routes()}
    assert names - PUBLIC == set(ROUTES)
    for name, _pattern, view in routes():
        if name not in PUBLIC:
            assert view.callback.view_class.action in roles.ACTIONS, name


def test_nobody_sees_a_page_without_signing_in(client):
    _people, records, special = world()
    for name, pattern, _view in routes():
        if name in PUBLIC:
            continue
        response = client.get(address(name, pattern, records, special))
        assert response.status_code == 302 and response.url.startswith("/sign-in/"), name


@pytest.mark.parametrize(
    "who", ["lead", "coordinator", "manager", "auditor", "volunteer", "landowner", "other volunteer", "other landowner", "unknown role"]
)
def test_every_route_as_every_person(client, who):
    people, records, special = world()
    client.force_login(people[who])
    wrong = []
    for name, pattern, _view in routes():
        if name in PUBLIC:
            continue
        may, rows = ROUTES[name]
        expected = {403} if who not in may else {404} if rows is not None and who not in rows else {200, 302}
        status = client.get(address(name, pattern, records, special)).status_code
        if status not in expected:
            wrong.append((name, status, expected))
    assert wrong == []


@pytest.mark.parametrize("who", ["auditor", "volunteer", "landowner", "other landowner", "unknown role"])
def test_a_post_is_refused_as_a_get_is(client, who):
    people, records, special = world()
    client.force_login(people[who])
    wrong = []
    for name, pattern, _view in routes():
        may, rows = ROUTES.get(name, (EVERYONE, None))
        if name in PUBLIC or (who in may and (rows is None or who in rows)):
            continue
        status = client.post(address(name, pattern, records, special), {}).status_code
        # a page that only shows refuses every post (405); nothing else may get through
        if status not in ({403} if who not in may else {404, 405}):
            wrong.append((name, status))
    assert wrong == []


def test_an_account_that_was_closed_is_signed_out(client):
    person = factories.person("lead")
    client.force_login(person)
    person.is_active = False
    person.save()
    assert client.get("/").status_code == 302


@pytest.mark.parametrize("who", ["volunteer", "landowner", "manager", "unknown role"])
def test_the_code_box_finds_nothing_out_of_sight(client, who):
    """A tag, a lot and a shipment of somebody else's land."""
    people, _records, _special = world()
    far = factories.planting()
    tree = factories.trees(far, count=1, tag="FAR")[0]
    client.force_login(people[who])
    response = client.get("/find/", {"q": tree.tag})
    if who == "unknown role":
        assert response.status_code == 403
    elif who == "manager":
        assert response.url == f"/trees/{tree.pk}/"
    else:
        assert response.status_code == 200 and "FAR" not in response.content.decode().replace('value="FAR', "").replace("“FAR", "")
