"""What volunteers and landowners read goes through translation: rendered in a language that brackets every marked text,
the pages and mails hold no other words but data. All data of these tests is written in Greek letters, so that any Latin
word outside brackets is a text that nobody marked.
"""

import re
from datetime import date, timedelta

import pytest
from django.core import mail
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import trans_real

from plantings.models import CensusRound
from plantings.selectors.overview.today import today_lines
from plantings.services.trees import counted_plot_add
from registry.calc.shared.screen import day_words, month_words
from registry.models import Person
from registry.selectors.shared.local_words import local_day, local_month, local_weekday
from registry.services.duties.reminders import reminders_send
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.land.links import link_make
from registry.services.land.notices import land_notice_add
from registry.services.people.people import person_link_send
from tests import factories
from tests.plantings.land.bracketed_texts import CODES, OPEN, Brackets, Texts, read, texts_of, unmarked
from tests.registry.safety.test_cautions import caution

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]  # which words go through translation is the same on both


@pytest.fixture
def bracketed(monkeypatch):
    before = getattr(trans_real._active, "value", None)
    trans_real._active.value = brackets = Brackets()
    monkeypatch.setattr(translation, "activate", lambda language: None)  # a page or mail in its own language is read in this one
    yield
    if before is None:
        del trans_real._active.value
    else:
        trans_real._active.value = before
    assert brackets.not_french == set(), "has no translation into French"


@pytest.fixture
def land(db):
    """A landowner with everything their page can show, all of it in Greek letters."""
    lead = factories.person("lead", username="λ1", first_name="Λάμδα", last_name="Ήτα", phone="555")
    factories.person("coordinator", username="κ1", first_name="Κάππα", last_name="Σίγμα", phone="556")
    partner = factories.partner(code="Π1", name="Φάρμα")
    owner = factories.person("landowner", username="ω1", first_name="Ωμέγα", last_name="Ρω", partner=partner)
    crew = factories.person("volunteer", username="β1", first_name="Βήτα", last_name="Θήτα")
    lot = factories.stock_lot(actor=lead, plants=60, code="Λ60")
    site = factories.site(partner=partner, code="Τ1", name="Κοιλάδα", cautions="Πηγάδι")
    planting = factories.planting(site=site, code="Φ1", crew=[crew])
    trees = factories.trees(planting, lot, 4, actor=lead)
    round_ = factories.census_round(planting, label="Γ1", closes_on=timezone.localdate())
    factories.observe(round_, dict(zip(trees, ("A", "AR", "D", "NF"), strict=True)), actor=lead)
    for number, received in ((1, None), (2, factories.day(2019, 4, 5))):
        factories.shipment(
            actor=lead, receiver=partner, code=f"Σ{number}", lots=[(lot, "bareroot", 10)], dispatched_on=factories.day(2019, 4, 3),
            received_on=received,
        )  # fmt: skip
    terms = {"type": "landowner", "partner": partner, "state": "in_force", "covers": "Δέντρα.", "issuer": "Υ"}
    papers = [
        factories.authorization(
            code=f"Α{number}", title="Συμφωνία", conditions="Όροι.", starts_on=factories.day(2020), ends_on=end, **terms
        )
        for number, end in enumerate((factories.day(2031), None))
    ]
    first = agreement_text_add(actor=lead, title="Κείμενο", version="1", body="Κανόνες.", is_example=True)
    agreement_sign(actor=lead, authorization=papers[0], text=first, signed_by="Ωμέγα", signed_on=factories.day(2020))
    agreement_text_add(actor=lead, title="Κείμενο", version="2", body="Νέοι κανόνες.", is_example=True)
    caution("Κ1", task="any", hazard="Τσιμπούρια", text="Προσοχή.", decider="Όλοι")
    land_notice_add(actor=lead, partner=partner, kind="works", text="Έργα")
    link, token = link_make(actor=lead, person=owner)

    def address(name="land_page", *args):
        return reverse(name, args=[token, *args])

    return {"address": address, "papers": papers, "box": partner.shipments.order_by("code")[0], "owner": owner, "lead": lead}


def test_the_landowners_page_is_marked_for_translation(client, land, bracketed):
    assert unmarked(read(client.get(land["address"]()))) == []


def test_the_empty_page_of_a_landowner_is_marked(client, bracketed):
    person = factories.person("landowner", username="ω2", first_name="Ω", last_name="Ω", partner=factories.partner(code="Π2", name="Φ"))
    _link, token = link_make(actor=person, person=person)
    assert unmarked(read(client.get(reverse("land_page", args=[token])))) == []


def test_a_link_that_does_not_work_is_marked(client, bracketed):
    assert unmarked(read(client.get(reverse("land_page", args=["x" * 43])))) == []


def forms(land):
    signed, unsigned = land["papers"]
    return [("land_tell", ()), ("land_receipt", (land["box"].pk,)), ("land_agreement", (signed.pk,)), ("land_agreement", (unsigned.pk,))]


@pytest.mark.parametrize("number", range(4))
def test_a_form_of_the_landowner_and_its_errors_are_marked(client, land, bracketed, number):
    name, args = forms(land)[number]
    assert unmarked(read(client.get(land["address"](name, *args)))) == []
    assert unmarked(read(client.post(land["address"](name, *args), {}))) == []


def test_what_the_services_refuse_a_landowner_is_marked(client, land, bracketed):
    box = land["box"]
    line = box.lines.get()
    counts = {f"sound_{line.pk}": 11, f"sprouted_{line.pk}": 0, f"spoiled_{line.pk}": 0}
    head = {"received_by": "Ω", "box_condition": "good", "note": ""}
    for day in ("2019-04-05", "2019-04-01", "2062-01-01", "1800-01-01"):
        page = client.post(land["address"]("land_receipt", box.pk), counts | head | {"received_on": day})
        assert page.context["form"].errors and unmarked(read(page)) == [], day


def test_what_a_landowner_sent_is_thanked_for_in_marked_words(client, land, bracketed):
    line = land["box"].lines.get()
    receipt = {f"sound_{line.pk}": 4, f"sprouted_{line.pk}": 0, f"spoiled_{line.pk}": 0, "received_on": "2019-04-05", "received_by": "Ω"}
    offered = client.get(land["address"]("land_agreement", land["papers"][0].pk)).context["offered"]
    sent = (
        ("land_tell", (), {"kind": "sale", "site_code": "", "text": "Πώληση"}),
        ("land_receipt", (land["box"].pk,), receipt | {"box_condition": "good", "note": ""}),
        ("land_agreement", (land["papers"][0].pk,), {"text": offered.pk, "signed_by": "Ω", "read": "on"}),
    )
    for name, args, data in sent:
        page = client.post(land["address"](name, *args), data, follow=True)
        assert page.redirect_chain, name
        assert unmarked(read(page)) == [], name


@pytest.mark.parametrize("route", ["login", "password_reset", "password_reset_done", "password_reset_complete"])
def test_a_sign_in_page_is_marked(client, bracketed, route):
    assert unmarked(read(client.get(reverse(route)))) == []


def test_the_errors_of_signing_in_are_marked(client, bracketed):
    assert unmarked(read(client.post(reverse("login"), {"username": "α", "password": "β"}))) == []


def test_signing_out_is_marked(client, bracketed):
    client.force_login(factories.person("volunteer"))
    assert unmarked(read(client.post(reverse("logout")))) == []


def test_the_pages_and_mail_for_a_new_password_are_marked(client, bracketed):
    person = factories.person("volunteer", username="v9")
    client.post(reverse("password_reset"), {"email": person.email})
    [message] = mail.outbox
    assert unmarked([message.subject, message.body]) == []
    [(html, _type)] = message.alternatives
    assert unmarked(Texts(html).found) == []
    link = re.search(r"http://testserver(/password/\S+)", message.body)[1]
    page = client.get(link, follow=True)
    assert page.context["validlink"] and unmarked(read(page)) == []
    wrong = client.post(page.redirect_chain[-1][0], {"new_password1": "a", "new_password2": "b"})
    assert wrong.context["form"].errors and unmarked(read(wrong)) == []
    assert unmarked(read(client.get("/password/x/y-z/"))) == []


def test_the_mail_of_a_new_account_is_marked(bracketed):
    person = factories.person("volunteer", username="v8", first_name="Β", last_name="Γ")
    person_link_send(actor=factories.person("lead"), person=person, domain="example.org", secure=True)
    [message] = mail.outbox
    assert unmarked([message.subject, message.body]) == []


@pytest.mark.parametrize("days", [-400, -20, -1, 0, 1, 20])
def test_the_weekly_mail_of_a_volunteer_is_marked(bracketed, days):
    person = factories.person("volunteer", username="v7", first_name="Β", last_name="Γ")
    due = timezone.localdate() + timedelta(days=days)
    factories.duty(actor=factories.person("lead"), title="Έκθεση", responsible=person, first_due_on=due)
    reminders_send(on=timezone.localdate())
    [message] = [message for message in mail.outbox if message.to == [person.email]]
    assert "Έκθεση" in message.body
    assert unmarked([message.subject, message.body]) == []


def test_the_days_of_a_volunteer_and_a_landowner_are_marked(land, bracketed):
    """Of Today, the lines about census rounds, duties, shipments and the own land; the page around them is the office's."""
    crew = Person.objects.get(role="volunteer")
    factories.duty(actor=land["lead"], title="Έκθεση", responsible=crew, first_due_on=factories.day(2020))
    plots = factories.planting(code="Φ2", site=factories.site(code="Τ2", name="Κοιλάδα"), crew=[crew])
    counted_plot_add(actor=land["lead"], planting=plots, code="Κ", lot=factories.seed_lot(code="Σ9", seeds=50), planted_count=20)
    factories.census_round(plots, label="Γ2", closes_on=timezone.localdate())
    for user, count in ((crew, 3), (land["owner"], 2)):
        lines = today_lines(user, timezone.localdate())
        assert len(lines) >= count
        assert unmarked([text for line in lines for text in (line.text, line.who, local_day(line.due))]) == [], user.role
        drawn = "".join(render_to_string("partials/duties/_duty.html", {"line": line}) for line in lines)
        assert OPEN in drawn and unmarked(Texts(drawn).found) == [], user.role


def test_what_is_printed_on_a_field_form_is_marked(client, land, bracketed):
    crew = Person.objects.get(role="volunteer")
    client.force_login(crew)
    document = client.get(reverse("field_form", args=[CensusRound.objects.get().pk])).context["view"].document
    assert OPEN in document.page_words and OPEN in document.made
    assert unmarked([CODES.sub("", text) for text in texts_of(document)]) == []


def test_a_day_reads_as_everywhere_where_nothing_is_translated():
    for month in range(1, 13):
        day = date(2026, month, 9)
        assert (local_day(day), local_month(month)) == (day_words(day), month_words(month))
    assert (local_day(None), local_weekday(date(2026, 10, 12))) == ("", "Monday")


def test_a_text_that_is_not_marked_is_found():
    assert unmarked(["⟦Planted⟧ Φ1", "on 12 Oct 2026, 5 trees"]) == ["on 12 Oct 2026, 5 trees"]
    assert unmarked(["⟦⟦5 plants⟧, 3 received⟧"]) == []
