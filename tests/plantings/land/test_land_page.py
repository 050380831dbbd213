"""A landowner's own page behind a private link: who is refused and how, and what it shows."""

import datetime
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from plantings.services.census.plot_counts import plot_count_record
from plantings.services.trees import counted_plot_add
from registry.models import AgreementSignature, AgreementText, LandNotice, PrivateLink, Receipt
from registry.services.land.agreements import agreement_sign, agreement_text_add
from registry.services.land.links import link_make, link_revoke
from registry.services.permits.authorizations import authorization_save, authorization_state_set
from tests import factories
from tests.plantings.land.land_scene import Land, receipt, text
from tests.registry.safety.test_cautions import caution

pytestmark = pytest.mark.django_db


TODAY = timezone.localdate


# -- refusals -------------------------------------------------------------------------------------------


def refused_pages(land):
    """Every way in that must be shut, after the link was taken back, with the data a form would send."""
    return [
        ("land_page", (), {}),
        ("land_tell", (), {"kind": "sale", "site_code": "", "text": "Sold."}),
        ("land_receipt", (land.box.pk,), receipt(land)),
        ("land_agreement", (land.paper.pk,), {"text": 1, "signed_by": "X", "read": "on"}),
    ]


@pytest.mark.parametrize("why", ["unknown", "ended", "revoked", "person left", "other role"])
def test_every_link_that_does_not_work_gets_the_same_answer(client, land, why):
    if why == "unknown":
        land.token = "A" * 43
    elif why == "ended":
        PrivateLink.objects.update(ends_on=TODAY() - datetime.timedelta(days=1))
    elif why == "revoked":
        link_revoke(actor=land.lead, link=land.link)
    else:
        land.person.is_active, land.person.role = why != "person left", "landowner" if why == "person left" else "volunteer"
        land.person.save()
    never = text(client.get(reverse("land_page", args=["never-a-link"])))
    for name, args, data in refused_pages(land):
        for response in (client.get(land.url(name, *args)), client.post(land.url(name, *args), data)):
            if response.status_code == 405:
                continue  # the page itself takes no form
            assert (response.status_code, text(response)) == (404, never), name
            assert_private(response)
    assert not Receipt.objects.exists() and not LandNotice.objects.exists() and not AgreementSignature.objects.exists()


def assert_private(response):
    assert response.headers["Referrer-Policy"] == "no-referrer"
    assert response.headers["Cache-Control"] == "no-store"
    assert "noindex" in response.headers["X-Robots-Tag"]


def test_a_link_works_on_its_last_day(client, land):
    PrivateLink.objects.update(ends_on=TODAY())
    response = client.get(land.url())
    assert response.status_code == 200
    assert_private(response)
    assert 'name="robots" content="noindex' in text(response)
    assert PrivateLink.objects.get().opened_at is not None


def test_the_stored_hash_opens_nothing(client, land):
    assert client.get(reverse("land_page", args=[land.link.token_sha256])).status_code == 404


def test_a_link_taken_back_while_a_form_is_open_stores_nothing(client, land):
    assert client.get(land.url("land_receipt", land.box.pk)).status_code == 200
    link_revoke(actor=land.lead, link=land.link)
    assert client.post(land.url("land_receipt", land.box.pk), receipt(land)).status_code == 404
    assert not Receipt.objects.exists()


def test_a_link_revoked_just_before_saving_writes_nothing(client, land, monkeypatch):
    stale = PrivateLink.objects.select_related("person__partner").get()
    link_revoke(actor=land.lead, link=land.link)
    monkeypatch.setattr("plantings.views.land.land.link_for_token", lambda token, on: stale)
    for name, args, data in refused_pages(land)[1:3]:
        response = client.post(land.url(name, *args), data)
        assert response.status_code == 200 and "This link no longer works. Nothing was saved." in text(response), name
    assert not Receipt.objects.exists() and not LandNotice.objects.exists()


def test_a_form_needs_its_token_but_no_referrer(land):
    browser = Client(enforce_csrf_checks=True)
    values = {"kind": "sale", "site_code": "", "text": "Sold in May."}
    address = land.url("land_tell")
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', text(browser.get(address)))[1]
    assert browser.post(address, values).status_code == 403
    assert browser.post(address, values | {"csrfmiddlewaretoken": "x" * 64}, headers={"origin": "null"}).status_code == 403
    whole = values | {"csrfmiddlewaretoken": token}
    foreign = browser.post(address, whole, headers={"origin": "https://elsewhere.example"})
    assert foreign.status_code == 403 and not LandNotice.objects.exists()
    assert_private(foreign)
    # a browser told to send no referrer names its origin "null" (WHATWG Fetch, "append a request `Origin` header")
    assert browser.post(address, whole, headers={"origin": "null"}).status_code == 302
    assert browser.post(address, whole, headers={"origin": "null"}, secure=True).status_code == 302
    assert LandNotice.objects.count() == 1


# -- what it shows ----------------------------------------------------------------------------------------


def test_the_page_shows_plantings_agreements_and_contacts(client, land):
    factories.person("coordinator", first_name="Tomas", last_name="Wex", phone="555-0121")
    factories.census_round(land.planting, 9, opens_on=TODAY(), closes_on=TODAY() + datetime.timedelta(days=30), label="next autumn")
    plot = counted_plot_add(actor=land.lead, planting=land.planting, code="D1", lot=land.lot, planted_count=10)
    plot_count_record(actor=land.lead, census_round=land.round, plot=plot, alive=7, observed_on=land.round.opens_on)
    caution("HUNTING", hazard="Hunting season", text="Bright orange.")
    shown = re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text(client.get(land.url()))))
    for words in (
        "Hazel Hollow", land.planting.code, "At the last visit (1 Sep 2019):", "2 alive", "1 dead", "1 not found",
        "4 trees in all", "Plot D1 : 10 planted, 7 alive when counted (1 Sep 2019)".replace(" :", ":"), land.lot.code,
        "until 1 Oct 2031", "next autumn", "Hazels Walker", "Tomas Wex", "555-0121", "Old well at Hazel corner.", "Bright orange.",
        "Shared maps show it at", "No signature is on file.", "Nothing that you signed is on file.",
        "Ask the coordinator and the local authority before you cut", "Test material, not for sale or gift.",
    ):  # fmt: skip
        assert words in shown, words
    assert "555-0199" not in shown  # a volunteer's telephone number is nobody else's
    assert "No nuts are sold." not in shown  # nobody signed it
    assert "allowed" not in shown and "permitted" not in shown


def answered(client, land):
    """{topic: [(sentence, where it is from)]} of the page."""
    return {str(topic): sentences for topic, sentences in client.get(land.url()).context["answers"]}


def test_selling_the_land_is_answered_from_what_that_owner_signed(client, land):
    clause = "When the land is sold, the new owner signs or the trees come out."
    first = agreement_text_add(actor=land.lead, title="Agreement", version="1", body="Call before you cut.")
    agreement_text_add(actor=land.lead, title="Agreement", version="2", body=clause)
    agreement_sign(actor=land.lead, authorization=land.paper, text=first, signed_by="Hazel", signed_on=factories.day(2020))
    found = answered(client, land)
    assert found["Sell or hand on the land"] == []  # nuts are not land, and version 2 is not signed
    from_signed = "Agreement, version 1, signed by Hazel on 1 Oct 2020"
    assert found["Cut or clear near the trees"] == [("Call before you cut.", from_signed)]
    assert found["Pick fruit or seed, or take cuttings"] == [("No nuts are sold.", f"conditions of {land.paper.code} on 1 Oct 2020")]
    shown = text(client.get(land.url()))
    assert "No sentence you signed uses a word of this question." in shown and clause not in shown
    second = AgreementText.objects.get(version="2")
    agreement_sign(actor=land.lead, authorization=land.paper, text=second, signed_by="Hazel", signed_on=factories.day(2024))
    assert answered(client, land)["Sell or hand on the land"] == [(clause, "Agreement, version 2, signed by Hazel on 1 Oct 2024")]


def test_conditions_amended_after_the_signature_are_not_quoted(client, land):
    wording = agreement_text_add(actor=land.lead, title="Agreement", version="1", body="Visits are told.")
    agreement_sign(actor=land.lead, authorization=land.paper, text=wording, signed_by="Hazel", signed_on=factories.day(2020))
    land.paper.conditions = "No nuts are sold. Goats may graze."
    authorization_save(actor=land.lead, paper=land.paper, from_on=factories.day(2024), reason="amendment 1")
    assert answered(client, land)["Let animals graze"] == [
        ("Sheep stay outside the fence.", f"conditions of {land.paper.code} on 1 Oct 2020")
    ]


def test_an_agreement_that_is_closed_answers_nothing(client, land):
    wording = agreement_text_add(actor=land.lead, title="Agreement", version="1", body="Call before you cut.")
    agreement_sign(actor=land.lead, authorization=land.paper, text=wording, signed_by="Hazel", signed_on=factories.day(2020))
    authorization_state_set(actor=land.lead, paper=land.paper, state="closed", on=TODAY(), reason="the trees are out")
    assert not any(answered(client, land).values())


def test_a_hidden_place_has_no_position_on_its_page(client, land):
    land.person.partner.map_privacy = "hidden"
    land.person.partner.save()
    shown = text(client.get(land.url()))
    assert "left off every shared map, as you asked." in shown and re.search(r"\b44\.\d", shown) is None


def test_a_page_without_records_says_so(client):
    person = factories.person("landowner")
    lead = factories.person("lead")
    lead.email = ""
    lead.save()
    _link, token = link_make(actor=lead, person=person)
    shown = text(client.get(reverse("land_page", args=[token])))
    for words in ("no planting on your land", "No agreement with you", "No visit is planned", "No contact is on file"):
        assert words in shown


def test_nothing_of_a_neighbour_is_shown_or_can_be_reached(client, land):
    other = Land("Briar")
    shown = text(client.get(land.url()))
    for secret in ("Briar", other.planting.code, other.lot.code, other.box.code, other.paper.code, other.site.code):
        assert secret not in shown, secret
    gone = text(client.get(reverse("land_page", args=["never-a-link"])))
    for name, pk, data in (
        ("land_receipt", other.box.pk, receipt(other)),
        ("land_agreement", other.paper.pk, {"text": 1, "signed_by": "X", "read": "on"}),
    ):
        for response in (client.get(land.url(name, pk)), client.post(land.url(name, pk), data)):
            assert (response.status_code, text(response)) == (404, gone), name
    response = client.post(land.url("land_tell"), {"kind": "sale", "site_code": other.site.code, "text": "Sold."})
    assert response.status_code == 200 and response.context["form"].errors["site_code"]
    assert not Receipt.objects.exists() and not LandNotice.objects.exists()


def test_a_signed_in_person_sees_only_the_landowners_page(client, land):
    other = Land("Briar")
    auditor = factories.person("auditor")
    client.force_login(auditor)
    response = client.get(land.url())
    assert "Briar" not in text(response) and reverse("audit_list") not in text(response) and str(auditor) not in text(response)
    client.post(land.url("land_tell"), {"kind": "sale", "site_code": "", "text": "Sold."})
    assert LandNotice.objects.get().entered_by == land.person and other.link.pk


def test_the_page_costs_the_same_queries_for_many_plantings(client, land):
    def queries():
        with CaptureQueriesContext(connection) as captured:
            client.get(land.url())
        return len(captured)

    few = queries()
    for _ in range(4):
        planting = factories.planting(site=land.site, crew=[factories.person("volunteer")])
        factories.trees(planting, factories.stock_lot(actor=land.lead, plants=9), 2, actor=land.lead)
        factories.census_round(planting)
        factories.shipment(
            actor=land.lead, receiver=land.person.partner, lots=[(land.lot, "bareroot", 2)], dispatched_on=factories.day(2019, 5)
        )
    assert queries() == few
