"""The demo in a real browser, as each person: sign in with the form, walk the spine, open the map. No other host is reachable.

One long test on one loaded demo: what one person does, the next one finds.
"""

import pytest
from django.urls import reverse

from plantings.imports.demo.loading import demo_load
from plantings.models import CensusRound, Observation, Planting, Tree
from plantings.services.demo_phrases import demo_phrases_set
from registry.models import Lot, Shipment
from registry.services.movements.shipments import shipment_line_set
from tests.browser.settling import INKED, map_libraries, settled

__all__ = ["map_libraries"]
pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("map_libraries")]


@pytest.fixture
def accounts(transactional_db):
    """{role: (person, password)} of a demo loaded through the importer."""
    demo_load()
    return {person.role: (person, phrase) for person, phrase in demo_phrases_set()}


def enter(page, account):
    person, phrase = account
    page.goto(reverse("login"))
    page.fill("input[name=username]", person.username)
    page.fill("input[name=password]", phrase)
    page.click("main button[type=submit]")
    page.wait_for_url("**" + reverse("today"))
    return person


def leave(page):
    page.goto(reverse("today"))
    page.locator("details.person summary").click()
    with page.expect_navigation():
        page.locator("details.person").get_by_role("button", name="Sign out").click()


def sections(page):
    return [words.strip() for words in page.locator("nav.tabs a").all_inner_texts()]


def sees_the_map(page):
    page.goto(reverse("map"))
    frame = page.frame_locator("iframe")
    settled(frame)
    # the lines of states and countries are drawn on a canvas, from the site's own files, without a tile
    assert frame.locator("canvas").first.evaluate(INKED) > 1_000
    assert frame.locator("img.leaflet-tile").count() == 0
    return frame


def test_every_person_walks_the_spine_of_the_demo(page, accounts, page_complaints):
    assert set(accounts) == {"lead", "coordinator", "manager", "volunteer", "landowner", "auditor"}
    _lead(page, accounts["lead"])
    _coordinator(page, accounts["coordinator"])
    _landowner(page, accounts["landowner"])
    _volunteer(page, accounts["volunteer"])
    _auditor(page, accounts["auditor"])
    _manager(page, accounts["manager"])
    assert page_complaints == []


def _lead(page, account):
    enter(page, account)
    assert sections(page) == ["Today", "Material", "Movements", "Plantings", "Papers", "Results", "Help"]
    # from a planted lot up to its mother and founders, down to its plantings, by the code box and the trace
    lot = Lot.objects.filter(kind="stock", origin="sown", entries__isnull=False, parent__mother__isnull=False).distinct().first()
    page.keyboard.press("/")
    page.keyboard.type(lot.code)
    page.keyboard.press("Enter")
    page.wait_for_url("**" + reverse("lot_detail", args=[lot.pk]))
    assert lot.parent.code in page.locator("main").inner_text()
    page.goto(f"{reverse('trace')}?q={lot.code}")
    text = page.locator("main").inner_text()
    assert "Founders" in text and lot.parent.mother.code in text
    assert all(entry.planting.code in text for entry in lot.entries.all())
    # survival by site and lineage, with interval and band
    page.goto(reverse("survival"))
    assert page.locator("main svg").count() > 5
    row = page.locator("main table.ledger tbody tr").first.inner_text()
    assert "(" in row and "–" in row and "n " in row
    frame = sees_the_map(page)
    frame.locator(".leaflet-marker-icon").first.press("Enter")  # presses by pointer are tested with the map itself
    leave(page)


def _coordinator(page, account):
    """A draft shipment becomes a dispatched one; the lot's balance falls by what left."""
    person = enter(page, account)
    lot = Lot.objects.filter(balance__gt=2).order_by("-balance").first()
    owner = Planting.objects.filter(site__partner__people__role="landowner").first().site.partner
    page.goto(reverse("shipment_add"))
    page.fill("[name=code]", "SH-BROWSER-1")
    page.select_option("[name=receiver]", str(owner.pk))
    page.fill("[name=receiving_person]", owner.contact_name)  # the gate stops a box nobody is named for
    page.click("main form.record-form button[type=submit]")
    page.wait_for_load_state()
    shipment = Shipment.objects.get(code="SH-BROWSER-1")
    form = "bareroot" if lot.kind == "stock" else "seed"
    shipment_line_set(actor=person, shipment=shipment, lot=lot, form=form, quantity=2)
    page.goto(reverse("shipment_dispatch", args=[shipment.pk]))
    button = page.locator("main form button[type=submit]").last
    assert "2" in button.inner_text()
    button.click()
    page.wait_for_load_state()
    shipment.refresh_from_db()
    assert shipment.state == "dispatched"
    before = lot.balance
    lot.refresh_from_db()
    assert lot.balance == before - 2
    leave(page)


def _landowner(page, account):
    """Only their own land, and the receipt of the box that was just sent."""
    person = enter(page, account)
    shown = sections(page)
    assert "Material" not in shown and "Papers" not in shown
    page.goto(reverse("planting_list"))
    own = set(Planting.objects.filter(site__partner=person.partner).values_list("code", flat=True))
    text = page.locator("main").inner_text()
    assert own and all(code in text for code in own)
    assert not any(code in text for code in Planting.objects.exclude(code__in=own).values_list("code", flat=True))
    shipment = Shipment.objects.get(code="SH-BROWSER-1")
    page.goto(reverse("receipt_add", args=[shipment.pk]))
    page.fill("[name=received_on]", shipment.dispatched_on.isoformat())
    page.fill("[name=received_by]", "The landowner")
    page.select_option("[name=box_condition]", "good")
    line = shipment.lines.get()
    page.locator(f"[name$='{line.pk}_sound'], [name*='sound']").first.fill("2")
    page.locator("main form.record-form button[type=submit]").last.click()
    page.wait_for_load_state()
    assert shipment.receipts.get().lines.get().sound == 2
    sees_the_map(page)
    leave(page)


def _volunteer(page, account):
    """One tree of an own planting on a phone: the plain form."""
    person = enter(page, account)
    seen = set(Observation.objects.values_list("tree", "round"))
    mine = CensusRound.objects.filter(planting__crew=person).order_by("-opens_on")
    census_round, tree = next(
        (item, tree) for item in mine for tree in Tree.objects.filter(planting=item.planting) if (tree.pk, item.pk) not in seen
    )
    page.set_viewport_size({"width": 375, "height": 740})
    page.goto(reverse("census_tree", args=[census_round.pk, tree.pk]))
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.locator("input[name=status][value=NF]").check(force=True)
    page.fill("[name=observed_on]", census_round.opens_on.isoformat())
    page.locator("main form.record-form button[type=submit]").last.click()
    page.wait_for_load_state()
    record = Observation.objects.get(tree=tree, round=census_round)
    assert (record.status, record.entered_by) == ("NF", person)
    page.set_viewport_size({"width": 1280, "height": 900})
    sees_the_map(page)
    leave(page)


def _auditor(page, account):
    """Every record and its history; nothing to change."""
    enter(page, account)
    page.goto(reverse("audit_list"))
    assert "entered census records" in page.locator("main").inner_text()
    sees_the_map(page)
    leave(page)


def _manager(page, account):
    """Lots with their balances; places only in general, and the page says so."""
    enter(page, account)
    page.goto(reverse("lot_list"))
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV").last.click()
    assert download.value.path().read_text(encoding="utf-8-sig").startswith("Lot,")
    page.goto(reverse("map"))
    assert "generalis" in page.locator("main").inner_text().lower()
    sees_the_map(page)
