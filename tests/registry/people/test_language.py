"""Which language a page and a mail are in: chosen on the page, stored on the device and with the account; the office reads English."""

import re

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone, translation

from registry.models import AuditEntry
from registry.services.duties.reminders import reminders_send
from registry.services.land.notices import land_notice_add
from registry.services.people.people import language_choose, person_link_send
from tests import factories

pytestmark = pytest.mark.django_db

FRENCH = {"HTTP_ACCEPT_LANGUAGE": "fr-CA,fr;q=0.9,en;q=0.8"}


def language(response):
    return re.search(r'<html lang="(\w+)"', response.content.decode())[1]


def test_a_page_without_an_account_follows_the_browser_then_the_choice(client):
    address = reverse("login")
    assert language(client.get(address)) == "en"
    assert language(client.get(address, **FRENCH)) == "fr"
    assert language(client.get(address, HTTP_ACCEPT_LANGUAGE="de")) == "en"
    answer = client.post(reverse("language"), {"language": "fr", "next": f"{address}?next=/help/"})
    assert answer.url == f"{address}?next=/help/" and not answer.cookies["mastbook_language"]["httponly"]
    assert language(client.get(address)) == "fr"
    client.post(reverse("language"), {"language": "en", "next": address})
    assert language(client.get(address, **FRENCH)) == "en"


@pytest.mark.parametrize("page", ["https://example.org/", "//example.org", ""])
def test_the_choice_leads_to_no_other_site_and_takes_no_other_word(client, page):
    answer = client.post(reverse("language"), {"language": "xx", "next": page})
    assert (answer.status_code, answer.get("Location", "")) == ((302, "/") if page else (204, ""))
    assert answer.cookies["mastbook_language"].value == "en"


def test_the_choice_of_a_volunteer_is_stored_once_with_its_entry(client):
    person = factories.person("volunteer")
    client.force_login(person)
    for _press in range(2):
        client.post(reverse("language"), {"language": "fr", "next": "/"})
    person.refresh_from_db()
    assert person.language == "fr"
    [entry] = AuditEntry.objects.filter(verb="person.changed")
    assert (entry.actor, entry.changes) == (person, {"language": ["", "fr"]})


def test_signing_in_brings_the_language_of_the_account_to_a_shared_phone(client):
    person = factories.person("volunteer", username="v.one")
    person.set_password("five quiet walnut benches")
    person.save()
    language_choose(person=person, language="fr")
    client.cookies["mastbook_language"] = "en"
    answer = client.post(reverse("login"), {"username": "v.one", "password": "five quiet walnut benches"})
    assert answer.status_code == 302
    assert answer.cookies["mastbook_language"].value == "fr"


def test_the_office_reads_its_own_pages_in_english(client):
    census_round = factories.census_round(factories.planting(crew=[crew := factories.person("volunteer")]))
    address = reverse("census_grid", args=[census_round.pk])
    for person, read in ((crew, "fr"), (factories.person("coordinator"), "en")):
        client.force_login(person)
        client.cookies["mastbook_language"] = "fr"
        assert language(client.get(address)) == read
        assert language(client.get(reverse("planting_list"))) == read
        assert language(client.get("/no-such-page/")) == read
        client.logout()
    client.cookies["mastbook_language"] = "fr"
    assert language(client.get(reverse("login"))) == "fr"


def test_a_sheet_has_english_headers_whatever_the_page_is_in(client):
    planting = factories.planting(crew=[crew := factories.person("volunteer")])
    client.force_login(crew)
    client.cookies["mastbook_language"] = "fr"
    page, sheet = (client.get(f"{reverse('planting_list')}{query}").content.decode() for query in ("", "?download=csv"))
    assert "Plantations" in page and "établie" in page
    assert (
        sheet.lstrip("\ufeff").startswith("Planting,") and f"{planting.code}," in sheet and "tabli" not in sheet.replace("established", "")
    )


def test_a_drawing_keeps_its_decimal_points_on_a_french_page(client):
    lead = factories.person("lead")
    owner = factories.person("landowner", partner=factories.partner())
    planting = factories.planting(site=factories.site(partner=owner.partner))
    trees = factories.trees(planting, factories.stock_lot(actor=lead, plants=40), 12, actor=lead)
    for season in (1, 2, 3):
        factories.observe(factories.census_round(planting, season), dict.fromkeys(trees, "A"), actor=lead, height_cm=42.5 * season)
    client.force_login(owner)
    client.cookies["mastbook_language"] = "fr"
    tree = client.get(reverse("tree_detail", args=[trees[0].pk])).content.decode()
    assert 'class="life"' in tree and "42,5 cm" in tree
    assert re.findall(r'<(?:svg|line|path|circle|text)[^>]*="[^"]*\d,\d', tree) == []


def test_a_number_with_a_comma_is_read_and_shown_on_a_french_page(client):
    crew = factories.person("volunteer")
    planting = factories.planting(crew=[crew])
    [tree] = factories.trees(planting, factories.stock_lot(), 1)
    factories.observe(factories.census_round(planting, 1), {tree: "A"}, height_cm=100)
    address = reverse("census_tree", args=[factories.census_round(planting, 2).pk, tree.pk])
    client.force_login(crew)
    client.cookies["mastbook_language"] = "fr"
    said = {"status": "A", "height_cm": "142,5", "diameter_mm": "12.5", "observed_on": timezone.localdate().isoformat()}
    page = client.post(address, {**said, "canker_class": "9"})
    assert 'value="142,5"' in page.content.decode()
    assert page.context["form"].cleaned_data["height_cm"] == 142.5
    assert page.context["form"].cleaned_data["diameter_mm"] == 12.5
    client.cookies["mastbook_language"] = "en"
    page = client.post(address, said)
    assert "142,5" in str(page.context["form"].errors["height_cm"])


def test_mails_come_in_the_language_of_their_reader():
    lead, crew = factories.person("lead"), factories.person("volunteer", first_name="Rosa", last_name="Counter")
    for person in (lead, crew):
        language_choose(person=person, language="fr")
        factories.duty(actor=lead, title="Report", responsible=person, first_due_on=timezone.localdate())
    reminders_send(on=timezone.localdate())
    crew.refresh_from_db()
    person_link_send(actor=lead, person=crew, domain="example.org", secure=True)
    subjects = {(message.to[0], message.subject) for message in mail.outbox}
    assert subjects == {
        (lead.email, "Mastbook: 1 thing to do"), (crew.email, "Mastbook: 1 chose à faire"), (crew.email, "Votre compte dans Mastbook"),
    }  # fmt: skip
    assert "Rosa Counter, voici ce qui est à faire ou en cours le " in mail.outbox[1].body


def test_a_phone_is_refused_in_the_language_of_its_page(client):
    client.cookies["mastbook_language"] = "fr"
    answer = client.get(reverse("phone_by_link"), headers={"X-Round-Link": "x" * 43})
    assert answer.json()["error"].startswith("Ce lien ne fonctionne pas, ou plus.")
    assert client.get(reverse("census_phone_ping")).json()["error"].startswith("Votre session est fermée.")


def test_the_audit_trail_is_in_english_whoever_writes():
    owner = factories.person("landowner", partner=factories.partner(code="P7"))
    with translation.override("fr"):
        land_notice_add(actor=owner, partner=owner.partner, kind="sale", text="Vendu.")
    assert AuditEntry.objects.latest("pk").record_label == "P7: the land is being sold or handed on"
