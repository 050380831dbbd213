"""Who has left, judged in one place: the gate, the page of who holds what, private links and signing in say the same."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from registry.access.active import contact_on, is_active_on
from registry.models import LandNotice, Person
from registry.selectors.gate.determinations import shipment_answer
from registry.selectors.land.land import link_for_token, link_words, programme_contacts
from registry.selectors.permits.authorizations import held_by_people
from registry.services.land.links import link_make, notice_by_link
from tests import factories
from tests.people import signs_in
from tests.registry.gate.gate_records import DAY, draft, hybrid_lot, permit, rule

pytestmark = pytest.mark.django_db
LONG_AGO, LATER = date(2024, 3, 1), date(2099, 1, 1)


@pytest.fixture
def lead():
    return factories.person("lead")


def test_a_person_is_active_until_the_day_they_leave():
    person = factories.person("manager", left_on=DAY)
    assert is_active_on(person, DAY - timedelta(days=1)) and not is_active_on(person, DAY)
    assert is_active_on(factories.person("manager"), DAY) and not is_active_on(factories.person("manager", is_active=False), DAY)
    assert not is_active_on(None, DAY)


def test_a_contact_is_an_active_account_or_a_written_name():
    person = factories.person("manager", first_name="Ada", last_name="Here")
    assert contact_on("", person, DAY) == "Ada Here"
    assert contact_on("Ada Here", factories.person("manager", left_on=DAY), DAY) == ""
    assert (contact_on(" B. Words ", None, DAY), contact_on(" ", None, DAY)) == ("B. Words", "")


# what a paper says of its holder and second contact, and whether it still covers on DAY
PEOPLE = [
    ("the holder is there", {}, None, False, True),
    ("the holder has left, the second contact is an account", {"left_on": LONG_AGO}, {}, True, True),
    ("the holder has left and so has the second contact", {"left_on": LONG_AGO}, {"left_on": LONG_AGO}, True, False),
    ("the holder has left, the account of the second contact is closed", {"left_on": LONG_AGO}, {"is_active": False}, True, False),
    ("the holder has left and nobody stands in", {"left_on": LONG_AGO}, None, True, False),
    ("the holder's account is closed and no day was noted", {"is_active": False}, None, False, False),
    ("the holder's account is closed, the second contact is there", {"is_active": False}, {}, True, True),
    ("the holder leaves later", {"left_on": LATER}, None, False, True),
]


@pytest.mark.parametrize(("holder", "second", "transferable", "covers"), [case[1:] for case in PEOPLE], ids=[case[0] for case in PEOPLE])
def test_the_gate_and_the_page_of_holders_agree_on_who_has_left(lead, holder, second, transferable, covers):
    rule()
    accounts = {"holder_account": factories.person("manager", first_name="Ada", last_name="Holder", **holder)}
    if second is not None:
        accounts["second_account"] = factories.person("manager", first_name="Ben", last_name="Second", **second)
    permit(lead, transferable=transferable, **accounts)
    who = "Ada Holder" if second is None else "Ben Second"
    answer = shipment_answer(draft(lead, hybrid_lot(lead), done_by=[who]), DAY)
    assert (answer.verdict == "covered") is covers
    page = {one.heading: one for one in held_by_people(DAY)}
    gone = page["Ada Holder"].note.startswith("Left")
    takes_over = page["Ada Holder"].held[0].then.startswith("the second contact takes over")
    assert (not gone or takes_over) is covers


def test_the_gate_names_the_day_a_holder_left(lead):
    rule()
    paper = permit(lead, holder_account=factories.person("manager", is_active=False))
    shipment = draft(lead, hybrid_lot(lead))

    def why():
        (finding,) = [one for one in shipment_answer(shipment, DAY).findings if one.kind == "requirement"]
        return finding.near[0].reasons[0].words

    assert why() == "its holder has left and it is not transferable"
    Person.objects.filter(pk=paper.holder_account_id).update(left_on=LONG_AGO)
    assert why() == "its holder left on 1 Mar 2024 and it is not transferable"


def test_more_people_on_papers_cost_no_more_queries(lead, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    rule()
    permit(lead, holder_account=factories.person("manager"), second_account=lead)
    shipment = draft(lead, hybrid_lot(lead))
    with CaptureQueriesContext(connection) as few:
        shipment_answer(shipment, DAY)
    for _number in range(8):
        permit(lead, holder_account=factories.person("manager"), second_account=factories.person("manager"))
    with django_assert_num_queries(len(few)):
        shipment_answer(shipment, DAY)


# -- links and signing in --------------------------------------------------------------------------------


def test_the_link_of_a_contact_who_left_opens_nothing(client, lead):
    contact = factories.person("landowner")
    link, token = link_make(actor=lead, person=contact)
    address = reverse("land_page", args=[token])
    assert client.get(address).status_code == 200
    Person.objects.filter(pk=contact.pk).update(left_on=LONG_AGO)
    link.refresh_from_db()
    assert client.get(address).status_code == 404
    assert client.post(reverse("land_tell", args=[token]), {"kind": "sale", "site_code": "", "text": "Sold."}).status_code == 404
    today = timezone.localdate()
    assert link_for_token(token, today) is None and link_words(link, today).startswith("does not work")
    with pytest.raises(ValidationError, match="Nothing was saved"):
        notice_by_link(link=link, kind="sale", site_code="", text="Sold.")
    assert not LandNotice.objects.exists()


def test_no_link_is_offered_or_made_for_a_contact_who_has_left(client, lead):
    contact = factories.person("landowner", left_on=LONG_AGO)
    client.force_login(lead)
    page = client.get(reverse("partner_link", args=[contact.partner_id]))
    assert page.context["contacts"] is False and list(page.context["form"].fields["person"].queryset) == []
    with pytest.raises(ValidationError, match="is not an active landowner contact"):
        link_make(actor=lead, person=contact)


def test_a_landowner_never_calls_a_coordinator_who_left():
    factories.person("coordinator", phone="555-0101", left_on=LONG_AGO)
    here = factories.person("coordinator", phone="555-0102")
    assert programme_contacts() == [here]


@pytest.mark.parametrize("gone", [{"left_on": LONG_AGO}, {"is_active": False}])
def test_nobody_signs_in_or_stays_signed_in_after_leaving(client, gone):
    person = factories.person("coordinator")
    assert signs_in(client, person.username, factories.PASSWORD)
    assert client.get(reverse("today")).status_code == 200
    Person.objects.filter(pk=person.pk).update(**gone)
    assert client.get(reverse("today")).status_code == 302
    page = client.post(reverse("login"), {"username": person.username, "password": factories.PASSWORD})
    assert page.status_code == 200 and page.context["form"].errors


def test_somebody_who_leaves_later_signs_in_until_then(client):
    person = factories.person("coordinator", left_on=timezone.localdate() + timedelta(days=1))
    assert signs_in(client, person.username, factories.PASSWORD)
    assert client.get(reverse("today")).status_code == 200
