"""The pages of volunteers and landowners in French, in a real browser: chosen on the page, kept without a signal, the codes unchanged."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from plantings.models import Observation
from registry.models import Person
from registry.services.land.links import link_make
from tests import factories
from tests.browser.axe import RUN, SCRIPT, TAGS
from tests.browser.phone import begin, field, opened, signed_in, tap_word

__all__ = ["field", "signed_in"]
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SMALL_PHONE = {"viewport": {"width": 320, "height": 640}, "has_touch": True, "is_mobile": True}


def look(page, screen):
    """The page is French, fits the phone, and axe finds no fault."""
    page.wait_for_load_state()  # axe measures what the style sheets make of it
    page.evaluate(SCRIPT)
    assert page.locator("html").get_attribute("lang") == "fr", screen
    assert page.evaluate(RUN, [TAGS, []]) == [], screen
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), screen


def test_the_phone_stays_french_without_a_signal_and_stores_the_same_codes(signed_in, field, page_complaints):
    factories.observe(field.last, {field.trees[0]: "A"}, height_cm=130, actor=field.lead)
    context = signed_in()
    page = opened(context, field.address)
    page.get_by_role("button", name="Français").tap()
    expect(page.get_by_text("Prêt. Cette page fonctionne maintenant sans réseau.")).to_be_visible()
    expect(page.locator("#left")).to_have_text("20 arbres à voir")
    look(page, "start")
    begin(page)  # in the language that was just chosen
    page.locator("#help").tap()
    context.set_offline(True)
    page.reload()
    look(page, "start without a signal")
    expect(page.get_by_role("button", name="English")).to_be_visible()
    begin(page)
    look(page, "walk")
    page.locator("#box-height_cm").fill("142,5")
    page.locator("#box-height_cm").blur()
    page.locator("#box-canker_class").select_option(label="Superficiel")
    expect(page.locator("#box-said")).to_contain_text("Hauteur la dernière fois\u00a0: 130 cm, ")
    tap_word(page, field.trees[0].tag, "Vivant")
    tap_word(page, field.trees[1].tag, "Mort", "Cerf")
    expect(page.locator(".behind")).to_contain_text("Vivant, 142,5 cm")
    page.locator("#help").tap()
    page.get_by_role("button", name="English").tap()  # and back, still without a signal
    expect(page.locator("#left")).to_have_text("18 trees left")
    context.set_offline(False)
    page.locator("#send").tap()
    expect(page.locator("#unsent")).to_have_text("0 not sent")
    assert field.stored() == {field.trees[0].tag: "A", field.trees[1].tag: "D"}
    first, second = Observation.objects.filter(round=field.round).order_by("pk")
    assert (first.height_cm, first.canker_class, second.cause) == (142.5, 1, "deer")
    page.get_by_role("button", name="Français").tap()
    expect(page.locator("#unsent")).to_have_text("0 non envoyée")
    assert [text for text in page_complaints if "ERR_INTERNET_DISCONNECTED" not in text] == []


def test_a_landowner_reads_the_page_and_its_forms_in_french(new_context, live_server, transactional_db):
    lead = factories.person("lead", phone="555")
    owner = factories.person("landowner", partner=factories.partner(name="Falls Road Wood"))
    planting = factories.planting(site=factories.site(partner=owner.partner), crew=[factories.person("volunteer")])
    factories.trees(planting, factories.stock_lot(actor=lead), 3, actor=lead)
    factories.census_round(planting)
    _link, token = link_make(actor=lead, person=owner)
    page = new_context(**SMALL_PHONE).new_page()
    page.goto(live_server.url + reverse("land_page", args=[token]))
    page.get_by_role("button", name="Français").tap()
    expect(page.get_by_role("heading", name="Ce qui est planté ici")).to_be_visible()
    look(page, "land page")
    page.get_by_role("link", name="Écrivez-nous").first.tap()
    expect(page.get_by_label("Dans vos mots")).to_be_visible()
    look(page, "message")
    page.goto(live_server.url + reverse("login"))
    expect(page.get_by_role("heading", name="Ouvrir une session")).to_be_visible()
    look(page, "sign in")
    assert Person.objects.get(pk=owner.pk).language == "fr"
